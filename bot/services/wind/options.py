"""Questions given option by option: each option says one part of a shot, and no more."""

from collections.abc import Mapping

from shared.bag import Bag
from shared.errors import InputError, ShotTextError
from shared.kit import Kit
from shared.shot import Shot
from shared.shot_text import parse
from shared.shot_text.write import example_shot, length_text, wind_text
from shared.units import UnitSystem

SAYS = {
    "wind": "a wind with its direction",
    "club": "a club",
    "distance": "a distance",
    "height": "how far up or down the target is",
    "ball": "a ball",
}
PART = {"carry": "distance"}  # the part that an option of another name says
# What may be put before an option's text: in its own option a club's number needs no word "club".
BEFORE = {"club": ("club ", ""), "ball": ("ball ", ""), "height": ("", "up ")}
BESIDE = {"club": "grade"}  # what a part may bring along


def read_options(options: Mapping[str, str | None], *, kit: Kit, bag: Bag, example: str) -> Shot:
    """One shot from the options of a command, in their order; those not given say nothing.

    Errors: InputError with ``example``, naming the option that can't be read or says too much.
    """
    whole = Shot()
    for name, text in options.items():
        if text:
            found = _said(name, PART.get(name, name), text, kit=kit, bag=bag, example=example)
            whole = whole.model_copy(update=found)
    return whole


def aim_example(kit: Kit, units: UnitSystem) -> str:
    """A right /aim for a kit."""
    shot = example_shot(kit, units)
    assert shot.wind is not None and shot.distance is not None
    return (
        f"/aim wind:{wind_text(shot.wind)} club:{shot.club} distance:{length_text(shot.distance)}"
    )


def _said(
    name: str, part: str, text: str, *, kit: Kit, bag: Bag, example: str
) -> dict[str, object]:
    wrong: list[InputError] = []
    for before in BEFORE.get(part, ("",)):
        try:
            return _read(part, before + text, kit, bag)
        except InputError as error:
            wrong.append(error)
    first = wrong[0]
    sentence = f"In {name}: {first.sentence}"
    if isinstance(first, ShotTextError):
        found = first.suggestions
        raise ShotTextError(sentence, example, text, 0, len(text), found) from first
    raise InputError(sentence, example, text) from first


def _read(part: str, text: str, kit: Kit, bag: Bag) -> dict[str, object]:
    """What a text says, by field of a shot."""
    shot, nothing = parse(text, kit=kit, units=bag.units, bag=bag), Shot()
    said = {
        each: getattr(shot, each)
        for each in Shot.model_fields
        if getattr(shot, each) != getattr(nothing, each)
    }
    if part not in said or said.keys() - {part, BESIDE.get(part)}:
        raise InputError(f"this option takes {SAYS[part]} and nothing else.", "", text)
    return said
