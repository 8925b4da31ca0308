"""From what a member types after a shot to the next one: '171 left, rough, wind 6 from 4'."""

import re
from dataclasses import dataclass
from typing import Final

from shared.bag import Bag
from shared.errors import InputError, ShotTextError
from shared.kit import SURFACE_KINDS, Kit, SurfaceKind
from shared.quantities import Speed, Wind
from shared.shot import Shot
from shared.shot_text import parse
from shared.shot_text.write import example_wind_text
from shared.units import UNITS, DistanceUnit, UnitSystem

UNKNOWN: Final = "not understood"
USUAL_LIE: Final[SurfaceKind] = "fairway"
EXAMPLE_LEFT: Final[dict[DistanceUnit, int]] = {"yd": 171, "m": 156}

_LIES = "|".join((*SURFACE_KINDS, "bunker"))
_LIE = re.compile(rf"\s*(?:from |in |on )?(?:the )?({_LIES})\s*", re.IGNORECASE)
_TO_GO = re.compile(r"^(\s*[\d.,]+\s*[a-z]*)\s+(?:left|to go)\s*$", re.IGNORECASE)


@dataclass(frozen=True)
class NextQuestion:
    """What is left: the shot without a club or with one, the lie, and what is played onto.

    ``lie_said`` is whether the lie was named or is the usual one.
    """

    shot: Shot
    lie: SurfaceKind
    onto: SurfaceKind
    lie_said: bool


def read_next(text: str, *, onto: SurfaceKind, kit: Kit, bag: Bag) -> NextQuestion:
    """What is asked; calm where no wind is said, the fairway where no lie is.

    What the text says of the end goes before ``onto``.

    Errors: ShotTextError for what can't be read, InputError where no distance is left.
    """
    parts: list[str] = []
    lies: list[SurfaceKind] = []
    for part in re.split(r",(?!\d)", text):
        if named := _LIE.fullmatch(part):
            lies.append(_kind(named[1]))
        elif part.strip():
            parts.append(_TO_GO.sub(r"\1", part).strip())
    if len(lies) > 1:
        raise InputError(f"Two lies: {lies[0]} and {lies[1]}.", example(bag.units), text)
    shot = _shot(", ".join(parts), text, kit, bag)
    end, shot = shot.onto or onto, shot.model_copy(update={"onto": None})
    return NextQuestion(shot, lies[0] if lies else USUAL_LIE, end, bool(lies))


def example(units: UnitSystem) -> str:
    """A right /next."""
    unit = UNITS[units].distance
    return f"/next left:{EXAMPLE_LEFT[unit]}, rough, {example_wind_text(units)}"


def _kind(word: str) -> SurfaceKind:
    lowered = "sand" if word.lower() == "bunker" else word.lower()
    return next(kind for kind in SURFACE_KINDS if kind == lowered)


def _shot(asked: str, given: str, kit: Kit, bag: Bag) -> Shot:
    try:
        shot = parse(asked, kit=kit, units=bag.units, bag=bag) if asked else Shot()
    except ShotTextError as error:
        lies = f" A lie is one of {', '.join(SURFACE_KINDS)}." if UNKNOWN in error.sentence else ""
        raise InputError(f"{error.sentence}{lies}", example(bag.units), given) from error
    if shot.distance is None:
        raise InputError("How far is left was not said.", example(bag.units), given)
    calm = Wind(speed=Speed(value=0, unit="mph"), from_deg=0)
    return shot if shot.wind else shot.model_copy(update={"wind": calm})
