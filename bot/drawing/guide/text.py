"""A hole's text as lines of a given width: the same for a printed page and for a phone."""

from dataclasses import dataclass

from bot.drawing.canvas import Canvas
from bot.drawing.glyphs import FaceName, Faces
from bot.drawing.guide.model import GuideHole, GuideShot, GuideVariant
from bot.drawing.style import INK, RUST, SOFT
from bot.drawing.wording import metres
from shared.units import UnitSystem

LEADING = 1.34  # from baseline to baseline, em
INDENT = 1.5  # of a shot's lines under its number, em
VARIANT_GAP = 0.9  # above a variant, em
PART_GAP = 0.35  # above a shot or a note, em


@dataclass(frozen=True)
class Line:
    """One line: sizes in em of the text's size. ``gap`` is above it unless it begins a column."""

    text: str
    size: float = 1.0
    face: FaceName = "plain"
    colour: str = INK
    indent: float = 0.0
    gap: float = 0.0
    keeps: bool = False  # must not be the last of a column
    block: int = 0  # the variant it belongs to, counted from 1

    @property
    def height(self) -> float:
        """Height in em, without the gap."""
        return LEADING * self.size


class Setter:
    """Breaks texts into lines of one width."""

    def __init__(self, faces: Faces, *, width_px: float, size_px: float) -> None:
        self.faces = faces
        self.width_px = width_px
        self.size_px = size_px
        self.lines: list[Line] = []
        self.block = 0

    def add(
        self,
        text: str,
        *,
        size: float = 1.0,
        face: FaceName = "plain",
        colour: str = INK,
        indent: float = 0.0,
        gap: float = 0.0,
        keeps: bool = False,
    ) -> None:
        """Add a paragraph; an empty one adds nothing."""
        room = self.width_px - indent * self.size_px
        broken = self.faces.wrap(text, size_px=size * self.size_px, width_px=room, face=face)
        for count, piece in enumerate(broken):
            above = gap if count == 0 else 0.0
            line = Line(piece, size, face, colour, indent, above, keeps, self.block)
            self.lines.append(line)


def hole_lines(
    faces: Faces, hole: GuideHole, *, width_px: float, size_px: float, facts: bool = False
) -> list[Line]:
    """The text of a hole: its facts if wanted, its ceilings and results, then every variant."""
    setter = Setter(faces, width_px=width_px, size_px=size_px)
    for fact in hole.facts if facts else ():
        setter.add(fact, colour=SOFT)
    setter.add(hole.ceilings, gap=PART_GAP)
    setter.add(hole.results, gap=PART_GAP)
    for variant in hole.variants:
        _variant(setter, variant)
    if not hole.variants:
        setter.add("No line has been noted for this hole yet.", colour=SOFT)
    return setter.lines


def variant_head(variant: GuideVariant) -> str:
    """'A · low hybrid (recommended)'."""
    title = f" · {variant.title}" if variant.title else ""
    status = f" ({variant.status})" if variant.status else ""
    return f"{variant.letter}{title}{status}"


def hole_facts(hole: GuideHole, units: UnitSystem) -> str:
    """'par 4 · 385 yd · bearing 145°'."""
    bearing = [] if hole.bearing_deg is None else [f"bearing {hole.bearing_deg:.0f}°"]
    return " · ".join([f"par {hole.par}", metres(hole.length_m, units, 0), *bearing])


def draw_lines(canvas: Canvas, lines: list[Line], left: float, top: float, size_px: float) -> float:
    """Draw lines from ``top`` down; where the next would begin."""
    y = top
    for count, line in enumerate(lines):
        y += (line.gap if count else 0.0) * size_px + line.height * size_px
        canvas.text(
            *(left + line.indent * size_px, y - 0.3 * line.size * size_px, line.text),
            size=line.size * size_px,
            face=line.face,
            colour=line.colour,
        )
    return y


def lines_height(lines: list[Line], size_px: float) -> float:
    """Height of lines drawn one below the other."""
    gaps = sum(line.gap for line in lines[1:])
    return (gaps + sum(line.height for line in lines)) * size_px


def _variant(setter: Setter, variant: GuideVariant) -> None:
    setter.block += 1
    setter.add(variant_head(variant), size=1.12, face="bold", gap=VARIANT_GAP, keeps=True)
    if variant.author:
        setter.add(f"by {variant.author}", size=0.92, colour=SOFT, keeps=True)
    for count, shot in enumerate(variant.shots, 1):
        _shot(setter, count, shot)
    setter.add(variant.notes, gap=PART_GAP)
    setter.add(variant.ceiling, gap=PART_GAP)
    setter.add(variant.results, gap=PART_GAP)


def _shot(setter: Setter, number: int, shot: GuideShot) -> None:
    setter.add(f"{number}. {shot.text}", gap=PART_GAP, keeps=bool(shot.aim))
    setter.add(shot.aim, face="bold", colour=RUST, indent=INDENT)
    for detail in shot.details:
        setter.add(detail, size=0.92, colour=SOFT, indent=INDENT)
    setter.add(shot.note, size=0.92, indent=INDENT)
