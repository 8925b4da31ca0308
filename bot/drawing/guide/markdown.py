"""A guide as Markdown for a forum: every picture in words."""

import re

from bot.drawing.alt import bars_alt, shot_alt, wind_sentence
from bot.drawing.guide.model import Guide, GuideHole, GuideShot, GuideVariant
from bot.drawing.guide.text import hole_facts, variant_head
from bot.drawing.shot_picture import FOR_WHOM

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>()#|~])")
_BLANK = re.compile(r"\s+")


def guide_markdown(guide: Guide) -> str:
    """The whole guide; people's own text can't change its form."""
    parts = [f"# {plain(guide.title)}"]
    if guide.whose:
        parts.append(plain(guide.whose))
    for hole in guide.holes:
        parts += _hole(guide, hole)
    parts.append(f"*{FOR_WHOM}*")
    return "\n\n".join(parts) + "\n"


def plain(text: str) -> str:
    """A text on one line with everything Markdown would take for its own escaped."""
    return _SPECIAL.sub(r"\\\1", _BLANK.sub(" ", text).strip())


def _hole(guide: Guide, hole: GuideHole) -> list[str]:
    name = f": {plain(hole.name)}" if hole.name else ""
    parts = [f"## Hole {hole.number}{name}", f"**{hole_facts(hole, guide.units)}**"]
    if hole.wind is not None:
        parts.append(wind_sentence(hole.wind.speed_mps, hole.wind.from_deg, guide.units))
    parts += [plain(each) for each in (*hole.facts, hole.ceilings, hole.results) if each]
    if hole.bars is not None:
        parts.append(f"> {plain(bars_alt(hole.bars))}")
    for variant in hole.variants:
        parts += _variant(variant)
    if not hole.variants:
        parts.append("No line has been noted for this hole yet.")
    return parts


def _variant(variant: GuideVariant) -> list[str]:
    by = f"by {plain(variant.author)}" if variant.author else ""
    shots = "\n".join(_shot(number, shot) for number, shot in enumerate(variant.shots, 1))
    after = [plain(each) for each in (variant.notes, variant.ceiling, variant.results) if each]
    return [part for part in (f"### {plain(variant_head(variant))}", by, shots, *after) if part]


def _shot(number: int, shot: GuideShot) -> str:
    rows = [f"{number}. {plain(shot.text)}"]
    if shot.aim:
        rows.append(f"   **{plain(shot.aim)}**")
    rows += [f"   {plain(each)}" for each in (*shot.details, shot.note) if each]
    if shot.scene is not None:
        rows.append(f"   > {plain(shot_alt(shot.scene))}")
    return "  \n".join(rows)
