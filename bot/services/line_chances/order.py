"""A hole's lines in the order of their computed chances, as far as these can be told apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bot.services.learning.chances import Earned
from bot.services.line_chances.played import LinePlayed, points
from bot.services.verdicts.words import NEARLY_SURE
from engine.line_compare import in_order
from shared.wording import listed

GOING_IN, STAYING = "go in", "stay on the green"


@dataclass(frozen=True)
class Computed:
    """A hole's lines as computed for one bag and wind: by letter, and in ``order`` of how often
    they go in or, where that can't be told apart, stay on the green (``by``); lines that can't be
    told apart stand together. ``earned`` says whether chances may be given."""

    lines: Mapping[str, LinePlayed]
    order: tuple[tuple[str, ...], ...]
    by: str
    earned: Earned

    def place(self, letter: str) -> int:
        """A line's place in the order; after all others where it could not be computed."""
        return next((n for n, group in enumerate(self.order) if letter in group), len(self.order))


def computed(lines: Sequence[LinePlayed | None], earned: Earned) -> Computed | None:
    """What was computed of a hole's lines; None of one alone that is given no chance."""
    found = [line for line in lines if line is not None]
    if len(found) < 1 + (not earned.shown):
        return None
    by, groups = GOING_IN, in_order([line.in_ for line in found], points())
    if len(groups) == 1:
        by, groups = STAYING, in_order([line.on_green for line in found], points())
    order = tuple(tuple(sorted(found[n].variant for n in group)) for group in groups)
    return Computed({line.variant: line for line in found}, order, by, earned)


def order_words(found: Computed) -> str:
    """In which order the lines are expected to go in, and why no chance is given, or that it may;
    what was assumed."""
    letters = [" = ".join(group) for group in found.order]
    if len(letters) > 1:
        first = "" if found.by == GOING_IN else "none clearly likelier to go in; "
        letters[0] = f"**{letters[0]}**"
        said = f"Computed: {first}likeliest to {found.by} {', then '.join(letters)}"
    elif len(found.lines) > 1:
        said = f"Computed: {letters[0]}, no clear difference"
    else:
        said = f"Computed for line {letters[0]}"
    why = [] if found.earned.shown else [found.earned.diagram.standing.value]
    if any(line.assumed for line in found.lines.values()):
        why.append("last shots taken to end on a green")
    return f"{said} ({'; '.join(why)})" if why else said


def untried_words(found: Computed, letter: str) -> str:
    """What is computed of a line that nobody tried; empty where nothing is."""
    line = found.lines.get(letter)
    if line is None:
        return ""
    if found.earned.shown:
        computed = line.goes_in
        goes_in = found.earned.goes_in(computed.value, half_width=computed.half_width)
        stays = _share(line.stays.value, line.stays.half_width)
        return f"computed: goes in {_share(*goes_in)}, stays on the green {stays}"
    place = found.place(letter)
    before, after = found.order[:place], found.order[place + 1 :]
    alike = [each for each in found.order[place] if each != letter]
    sides = [(before, "after"), ([alike] if alike else [], "level with"), (after, "before")]
    said = [
        f"{word} {listed([each for group in groups for each in group], 'and')}"
        for groups, word in sides
        if groups
    ]
    return f"computed to {found.by}: {', '.join(said)}" if said else ""


def _share(chance: float, half_width: float) -> str:
    """A chance with its 90% margin, in hundredths; one that is neither nothing nor certain never
    reads so."""
    if chance >= NEARLY_SURE:
        return "over 99%"
    high = chance + half_width
    if high < 1 - NEARLY_SURE:
        return "under 1%"
    if chance <= half_width:
        return f"at most {min(high, 1.0):.1%}"
    digits = 1 if chance < 0.1 else 0
    return f"{chance:.{digits}%} ± {100 * half_width:.{digits}f}"
