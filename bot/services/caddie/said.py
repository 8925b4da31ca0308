"""A book's texts, in which a bare number is in yards or miles an hour, said in a reader's units."""

from bot.services.caddie.adapt import read_wind
from shared.errors import InputError
from shared.kit import Kit
from shared.units import UnitSystem
from shared.wording import wind_words


def said_for(text: str, *, kit: Kit, bearing_deg: float | None, units: UnitSystem) -> str:
    """A wind of the book with the reader's units written out; as it stands if it can't be read."""
    try:
        return wind_words(read_wind(text=text, kit=kit, bearing_deg=bearing_deg), units)
    except InputError:
        return text
