"""The winds of an event as columns: one for each round and division. Knows no Discord."""

from dataclasses import dataclass

from bot.drawing.event_winds import DivisionWinds, EventWindsScene, RoundWinds, WindEntry
from bot.services.caddie.adapt import read_wind
from shared.book import Event, Hole
from shared.errors import LeewardError
from shared.kit import Kit
from shared.units import SPEED_UNIT_OF, UnitSystem
from shared.wording import wind_words

UNKNOWN = "–"


@dataclass(frozen=True)
class WindColumn:
    """A round's winds for some divisions that have the same, by hole: '10/2' is 10 from 2."""

    round: str
    divisions: tuple[str, ...]
    cells: tuple[str, ...]


def wind_columns(event: Event, kit: Kit, units: UnitSystem) -> list[WindColumn]:
    """The columns, round by round; divisions with the same winds share one."""
    columns: list[WindColumn] = []
    for round_ in event.rounds:
        of_round: dict[tuple[str, ...], tuple[str, ...]] = {}
        for division in event.divisions:
            cells = tuple(_cell(hole, division, round_, kit, units) for hole in event.holes)
            of_round[cells] = (*of_round.get(cells, ()), division)
        columns += [WindColumn(round_, who, cells) for cells, who in of_round.items()]
    return columns


def _cell(hole: Hole, division: str, round_: str, kit: Kit, units: UnitSystem) -> str:
    text = hole.wind(division=division, round_=round_)
    if text is None:
        return UNKNOWN
    try:
        wind = read_wind(text=text, kit=kit, bearing_deg=hole.bearing_deg)
    except LeewardError:
        return "?"
    if not wind.speed.mps:
        return "calm"
    speed = wind_words(wind, units).partition(" ")[0]
    return f"{speed}/{hour_of(wind.relative_deg)}"


def hour_of(from_deg: float) -> str:
    """Where a wind comes from on a clock's face, to five minutes: '2', '7:30', '3:50'."""
    minutes = round(from_deg % 360 / 30 * 12) * 5 % 720
    hour, rest = divmod(minutes, 60)
    return f"{hour or 12}:{rest:02}" if rest else f"{hour or 12}"


def winds_scene(event: Event, kit: Kit, now: str, units: UnitSystem) -> EventWindsScene:
    """The same as a picture."""
    rounds: list[RoundWinds] = []
    for round_ in event.rounds:
        of_round: dict[tuple[WindEntry, ...], tuple[str, ...]] = {}
        for division in event.divisions:
            winds = tuple(_entry(hole, division, round_, kit, units) for hole in event.holes)
            of_round[winds] = (*of_round.get(winds, ()), division)
        columns = tuple(
            DivisionWinds("all divisions" if who == event.divisions else ", ".join(who), winds)
            for winds, who in of_round.items()
        )
        rounds.append(RoundWinds(f"{round_} (now)" if round_ == now else round_, columns))
    return EventWindsScene(
        title=f"Winds of {event.name}",
        subtitle=f"{SPEED_UNIT_OF[units]}, and the hour it comes from",
        holes=tuple(hole.number for hole in event.holes),
        rounds=tuple(rounds),
    )


def _entry(hole: Hole, division: str, round_: str, kit: Kit, units: UnitSystem) -> WindEntry:
    text = hole.wind(division=division, round_=round_)
    if text is None:
        return WindEntry(UNKNOWN, None)
    try:
        wind = read_wind(text=text, kit=kit, bearing_deg=hole.bearing_deg)
    except LeewardError:
        return WindEntry("?", None)
    if not wind.speed.mps:
        return WindEntry("calm", None)
    speed = wind_words(wind, units).partition(" ")[0]
    return WindEntry(f"{speed} from {hour_of(wind.relative_deg)}", wind.relative_deg)
