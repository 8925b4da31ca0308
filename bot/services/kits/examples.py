"""Questions that a kit can answer, for the help and the welcome."""

from shared.kit import Club, Kit
from shared.shot_text.write import club_text, example_wind, number_text, wind_text
from shared.units import LENGTH_UNIT_OF, METRES_PER, UnitSystem, speed_number

STEP = 5.0  # examples name round distances, yards or metres
FULL, PART = 1.0, 0.92  # shares of full carry
SPARE = 0.05  # a kit that lets a shot be set up less far past full carry gets part shots


def examples(kit: Kit, units: UnitSystem) -> tuple[str, str, str]:
    """Three questions in ``units``: a wind by the clock, one with height, one in metres."""
    long, middle, short = (kit.clubs[len(kit.clubs) * fifths // 5] for fifths in (2, 3, 4))
    full = FULL if kit.limits.over_full >= SPARE else PART
    first = wind_text(example_wind(units))
    return (
        f"{first}, {club_text(long.name)}, {_round(long, full, units)}",
        f"{_bare_speed(units)} helping {club_text(middle.name)} "
        f"{_round(middle, PART, units)} up 5%",
        f"5 m/s off the left, {club_text(short.name)}, {_round(short, PART, 'metric')} m, down 3 m",
    )


def _bare_speed(units: UnitSystem) -> str:
    """About three metres a second, in whole units of the reader."""
    return f"{speed_number(3.0, units):.0f}"


def _round(club: Club, share: float, units: UnitSystem) -> str:
    most = share * club.grades[0].full_m / METRES_PER[LENGTH_UNIT_OF[units]]
    return number_text(max(most // STEP * STEP, 1.0))
