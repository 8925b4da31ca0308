"""A book's texts, in which a bare number is in yards or miles an hour, said in a reader's units."""

from bot.services.caddie.adapt import ReadShot, read_wind
from shared.book import Hole
from shared.errors import InputError
from shared.kit import Kit
from shared.quantities import Length
from shared.shot_text import format_shot
from shared.shot_text.write import in_units
from shared.units import LENGTH_UNIT_OF, SPEED_UNIT_OF, UnitSystem
from shared.wording import wind_words


def said_for(text: str, *, kit: Kit, bearing_deg: float | None, units: UnitSystem) -> str:
    """A wind of the book with the reader's units written out; as it stands if it can't be read."""
    try:
        wind = read_wind(text=text, kit=kit, bearing_deg=bearing_deg)
    except InputError:
        return text
    return text if wind.speed.unit == SPEED_UNIT_OF[units] else wind_words(wind, units)


def hole_for(hole: Hole, *, kit: Kit, units: UnitSystem) -> Hole:
    """The hole with its winds said in the reader's units."""
    winds = tuple(
        each.model_copy(
            update={"wind": said_for(each.wind, kit=kit, bearing_deg=hole.bearing_deg, units=units)}
        )
        for each in hole.winds
    )
    return hole.model_copy(update={"winds": winds})


def shot_said(read: ReadShot, text: str, units: UnitSystem) -> str:
    """A shot of the book in the reader's units, to tenths; in its own words where they are theirs.

    Its wind is left out, as it stands with the line, unless the shot was noted in its own.
    """
    shot = read.shot
    unit = LENGTH_UNIT_OF[units]
    assert shot.distance is not None
    heights = (unit, "%") if shot.height is not None else ()
    if shot.distance.unit == unit and (shot.height is None or shot.height.unit in heights):
        return text
    moved = in_units(shot.model_copy(update={"wind": None}), units)
    assert moved.distance is not None
    near = Length(value=round(moved.distance.value, 1), unit=unit)
    changed: dict[str, object] = {"distance": near}
    if moved.height is not None:
        height = moved.height
        changed["height"] = height.model_copy(update={"value": round(height.value, 1)})
    return format_shot(moved.model_copy(update=changed))
