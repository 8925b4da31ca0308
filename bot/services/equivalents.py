"""From the options of /equal to the ways that reach its carry. Knows no Discord."""

from bot.services.caddie.caddie import Caddie
from bot.services.caddie.equivalents import Equivalent, equivalents
from bot.services.wind.options import read_options
from shared.bag import Bag
from shared.errors import EngineError
from shared.kit import Kit
from shared.shot import Shot
from shared.shot_text.write import example_distance, example_wind, length_text, wind_text
from shared.units import UnitSystem


def read_carry(
    *, carry: str, wind: str, height: str | None, ball: str | None, kit: Kit, bag: Bag
) -> Shot:
    """The carry asked for. Errors: InputError naming the option that can't be read."""
    options = {"carry": carry, "wind": wind, "height": height, "ball": ball}
    return read_options(options, kit=kit, bag=bag, example=equal_example(kit, bag.units))


def ways(*, shot: Shot, caddie: Caddie, bag: Bag) -> list[Equivalent]:
    """Every way to reach the carry. Errors: EngineError where there is none."""
    try:
        return equivalents(caddie=caddie, shot=shot, bag=bag)
    except EngineError as error:
        error.example = equal_example(caddie.kit, bag.units)
        raise


def equal_example(kit: Kit, units: UnitSystem) -> str:
    """A right /equal for a kit."""
    carry = example_distance(kit.clubs[len(kit.clubs) // 2], None, units)
    return f"/equal carry:{length_text(carry)} wind:{wind_text(example_wind(units))}"
