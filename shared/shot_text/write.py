"""Writing a shot as text, the inverse of reading it, and right examples for a given kit."""

from shared.kit import Club, Kit
from shared.quantities import Height, Length, Speed, Wind
from shared.shot import Shot
from shared.shot_text.name_index import key_of, needs_no_category
from shared.units import (
    DEGREES_PER_HOUR,
    LENGTH_UNIT_OF,
    METRES_PER,
    METRES_PER_YARD,
    MPS_PER,
    SPEED_UNIT_OF,
    SpeedUnit,
    UnitSystem,
)

HOURS = 12.0
EXAMPLE_SPARE, EXAMPLE_PART = 0.05, 0.9  # of full carry
EXAMPLE_FROM_DEG = 60.0  # two o'clock
EXAMPLE_SPEED: dict[SpeedUnit, float] = {"mph": 8.4, "m/s": 4.0, "km/h": 14.0, "kn": 7.0}


def format_shot(shot: Shot) -> str:
    """The shot as a shot text, with every unit written out: ``parse`` gives the same shot back.

    A shot that says nothing gives the empty text, which ``parse`` refuses.
    """
    parts: list[str] = []
    if shot.wind is not None:
        parts.append(wind_text(shot.wind))
    parts += _names(shot)
    if shot.distance is not None:
        parts.append(length_text(shot.distance))
    if shot.height is not None:
        parts.append(height_text(shot.height))
    if shot.ball is not None:
        parts.append(f"ball {shot.ball}")
    parts += _spin_and_shape(shot)
    if shot.onto is not None:
        parts.append(f"onto {shot.onto}")
    return ", ".join(parts)


def in_units(shot: Shot, units: UnitSystem) -> Shot:
    """The same shot in a person's units, as near as thousandths of them are.

    A height in per cent, spin and shape stay as they are.
    """
    distance_unit, speed_unit = LENGTH_UNIT_OF[units], SPEED_UNIT_OF[units]
    changed: dict[str, object] = {}
    if shot.wind is not None:
        speed = Speed(value=shot.wind.speed.mps / MPS_PER[speed_unit], unit=speed_unit)
        changed["wind"] = shot.wind.model_copy(update={"speed": speed})
    if shot.distance is not None:
        metres = shot.distance.m
        changed["distance"] = Length(value=metres / METRES_PER[distance_unit], unit=distance_unit)
    if shot.height is not None and shot.height.unit != "%":
        metres = shot.height.m(distance_m=1.0)
        changed["height"] = Height(value=metres / METRES_PER[distance_unit], unit=distance_unit)
    return shot.model_copy(update=changed)


def number_text(value: float) -> str:
    """A number with at most three decimals and no more than it needs."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def length_text(length: Length) -> str:
    """ "165 yd" """
    return f"{number_text(length.value)} {length.unit}"


def height_text(height: Height) -> str:
    """ "up 5 yd", "down 10%" """
    way = "down" if height.value < 0 else "up"
    blank = "" if height.unit == "%" else " "
    return f"{way} {number_text(abs(height.value))}{blank}{height.unit}"


def wind_text(wind: Wind) -> str:
    """ "8.4 mph from 2"; degrees that are no half hour as "from 63.4 off line" """
    speed = f"{number_text(wind.speed.value)} {wind.speed.unit}"
    if wind.compass_deg is not None and wind.bearing_deg is not None:
        # Up to half past 12 a bare number would be an hour of the clock.
        unit = " deg" if wind.compass_deg < HOURS + 1 else ""
        compass = f"{number_text(wind.compass_deg)}{unit}"
        return f"{speed} from {compass} hole {number_text(wind.bearing_deg)}"
    if wind.speed == Speed(value=0) and wind.relative_deg == 0:
        return "calm"
    half_hours, rest = divmod(wind.relative_deg, DEGREES_PER_HOUR / 2)
    if rest:
        return f"{speed} from {number_text(wind.relative_deg)} off line"
    hour, half = divmod(int(half_hours), 2)
    return f"{speed} from {hour or int(HOURS)}{':30' if half else ''}"


def club_text(club: str) -> str:
    """The club's name, with the word "club" before one that could be read as something else."""
    parts, _ = key_of(club)
    return club if needs_no_category(parts) else f"club {club}"


def _names(shot: Shot) -> list[str]:
    if shot.club is None:
        return [] if shot.grade is None else [f"grade {shot.grade}"]
    grade = "" if shot.grade is None else f" ({shot.grade})"
    return [club_text(shot.club) + grade]


def _spin_and_shape(shot: Shot) -> list[str]:
    parts: list[str] = []
    if shot.backspin:
        way = "back" if shot.backspin > 0 else "top"
        parts.append(f"{way} {number_text(abs(shot.backspin))}")
    if shot.sidespin:
        way = "right" if shot.sidespin > 0 else "left"
        parts.append(f"side {number_text(abs(shot.sidespin))} {way}")
    if shot.curve is not None:
        tilt = shot.curve.tilt_deg
        parts.append(shot.curve.kind + ("" if tilt is None else f" {number_text(tilt)} deg"))
    return parts


def example_wind(units: UnitSystem) -> Wind:
    """A wind for examples."""
    speed = Speed(value=EXAMPLE_SPEED[SPEED_UNIT_OF[units]], unit=SPEED_UNIT_OF[units])
    return Wind(speed=speed, from_deg=EXAMPLE_FROM_DEG)


def example_wind_text(units: UnitSystem) -> str:
    """A right wind for who reads and types in these units: "4 m/s from 2"."""
    return wind_text(example_wind(units))


def example_distance(
    club: Club, grade: str | None, units: UnitSystem, kit: Kit | None = None
) -> Length:
    """A distance the club reaches, in round units: the last five at or below its full carry.

    In a kit whose shots can hardly be set up past full carry, what a headwind takes stays in hand.
    """
    unit = LENGTH_UNIT_OF[units]
    held = next((own for own in club.grades if own.name == grade), club.grades[0])
    part = EXAMPLE_PART if kit is not None and kit.limits.over_full < EXAMPLE_SPARE else 1.0
    full = round(part * held.full_m / METRES_PER[unit], 3)
    return Length(value=max(full // 5 * 5, 1.0), unit=unit)


def example_shot(kit: Kit, units: UnitSystem) -> Shot:
    """A whole question that the kit can answer: its middle club near full carry."""
    club = kit.clubs[len(kit.clubs) // 2]
    return Shot(
        wind=example_wind(units),
        club=club.name,
        distance=example_distance(club, None, units, kit),
    )


def completed(shot: Shot, *, kit: Kit, units: UnitSystem) -> Shot:
    """``shot`` with a wind, a club and a distance put in where it lacks them."""
    club = _club_for(shot, kit)
    return shot.model_copy(
        update={
            "wind": shot.wind or example_wind(units),
            "club": club.name,
            "grade": shot.grade if any(own.name == shot.grade for own in club.grades) else None,
            "distance": shot.distance or example_distance(club, shot.grade, units, kit),
        }
    )


def _club_for(shot: Shot, kit: Kit) -> Club:
    """The shot's own club, else the shortest that reaches, else the longest."""
    named = next((club for club in kit.clubs if club.name == shot.club), None)
    if named is not None:
        return named
    if shot.distance is None:
        return kit.clubs[len(kit.clubs) // 2]
    needed_yd = shot.distance.m / METRES_PER_YARD
    by_reach = sorted(kit.clubs, key=lambda club: club.grades[0].full_yd)
    return next((club for club in by_reach if club.grades[0].full_yd >= needed_yd), by_reach[-1])
