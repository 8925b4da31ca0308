"""The winds of an event as a table for a phone: a row a hole, a column for each division."""

from dataclasses import dataclass

from matplotlib.figure import Figure

from bot.drawing.canvas import Box, Canvas, Pen, new_figure, points
from bot.drawing.glyphs import Faces
from bot.drawing.heading import draw_heading, heading_height
from bot.drawing.style import (
    CARD,
    EDGE_PX,
    HAIR,
    INK,
    PHONE_PX,
    SEA,
    SHADE,
    SMALL_PX,
    SOFT,
    TEXT_PX,
)
from bot.drawing.wind import draw_arrow

ROW_PX = 24.0
NAME_PX = 28.0  # a round's name
HEADS_PX = 19.0  # the row of divisions
GAP_PX = 12.0
FOOT_PX = 26.0
HOLE_PX = 34.0  # the column of holes
ACROSS = 3  # divisions side by side; more stand below
ARROW_PX = 18.0
BASELINE_PX = 4.6  # of a row's words, below its middle


@dataclass(frozen=True)
class WindEntry:
    """A hole's wind in words such as '10 from 2'; ``from_deg`` None: calm, or not known."""

    words: str
    from_deg: float | None


@dataclass(frozen=True)
class DivisionWinds:
    """A column: whose winds, one for each hole."""

    name: str
    winds: tuple[WindEntry, ...]


@dataclass(frozen=True)
class RoundWinds:
    """A round: its columns."""

    name: str
    columns: tuple[DivisionWinds, ...]


@dataclass(frozen=True)
class EventWindsScene:
    """All rounds of an event; ``holes`` are its numbers in order."""

    title: str
    subtitle: str
    holes: tuple[int, ...]
    rounds: tuple[RoundWinds, ...]

    @property
    def alt(self) -> str:
        """What the picture shows, in words."""
        said = [f"{self.title}, {self.subtitle}."]
        for each in self.rounds:
            for column in each.columns:
                winds = "; ".join(
                    f"hole {hole} {wind.words}"
                    for hole, wind in zip(self.holes, column.winds, strict=True)
                )
                said.append(f"{each.name}, {column.name}: {winds}.")
        return " ".join(said)


def event_winds_figure(scene: EventWindsScene, faces: Faces) -> Figure:
    """The picture as a figure of its own, 390 px wide."""
    tables = _tables(scene)
    height = HEADS_PX + ROW_PX * len(scene.holes) + NAME_PX + GAP_PX
    head = heading_height(faces, scene.title, scene.subtitle)
    figure = new_figure(width_px=PHONE_PX, height_px=head + len(tables) * height + FOOT_PX)
    canvas = Canvas(figure, faces)
    top = draw_heading(canvas, scene.title, scene.subtitle)
    for count, table in enumerate(tables):
        _draw_table(canvas, top + count * height, table, scene.holes)
    foot = top + len(tables) * height + 8
    said = "12 blows into your face, 3 from the right; arrows fly with the wind"
    canvas.text(EDGE_PX, foot, said, size=SMALL_PX, colour=SOFT)
    return figure


def _tables(scene: EventWindsScene) -> list[RoundWinds]:
    """Rounds in tables of at most so many columns."""
    return [
        RoundWinds(each.name, each.columns[at : at + ACROSS])
        for each in scene.rounds
        for at in range(0, len(each.columns), ACROSS)
    ]


def _draw_table(canvas: Canvas, top: float, table: RoundWinds, holes: tuple[int, ...]) -> None:
    name = canvas.faces.clipped(
        table.name, size_px=TEXT_PX, width_px=PHONE_PX - 2 * EDGE_PX, face="bold"
    )
    canvas.text(EDGE_PX, top + NAME_PX - 9, name, size=TEXT_PX, face="bold")
    first = top + NAME_PX + HEADS_PX
    box = Box(EDGE_PX, top + NAME_PX, PHONE_PX - EDGE_PX, first + ROW_PX * len(holes))
    canvas.box(box, CARD)
    shaded = [
        Box(box.left, first + row * ROW_PX, box.right, first + (row + 1) * ROW_PX)
        for row in range(1, len(holes), 2)
    ]
    for each in shaded:
        canvas.box(each, SHADE)
    column = (box.width - HOLE_PX) / len(table.columns)
    lefts = [box.left + HOLE_PX + n * column for n in range(len(table.columns))]
    rules = [points((x, box.top), (x, box.bottom)) for x in lefts]
    canvas.lines([*rules, points((box.left, first), (box.right, first))], Pen(HAIR, 0.8))
    canvas.box(box, None, Pen(INK, 1.1))
    for place, hole in enumerate(holes):
        middle = first + (place + 0.5) * ROW_PX
        at = (box.left + HOLE_PX / 2, middle + BASELINE_PX)
        canvas.text(*at, str(hole), size=TEXT_PX, face="bold", anchor="centre")
    for left, division in zip(lefts, table.columns, strict=True):
        head = canvas.faces.clipped(
            division.name, size_px=SMALL_PX, width_px=column - 8, face="bold"
        )
        at = (left + column / 2, box.top + 13)
        canvas.text(*at, head, size=SMALL_PX, colour=SEA, face="bold", anchor="centre")
        for place, wind in enumerate(division.winds):
            middle = first + (place + 0.5) * ROW_PX
            _entry(canvas, (left, middle), column, wind, f"{division.name} {place}")


def _entry(
    canvas: Canvas, at: tuple[float, float], width: float, wind: WindEntry, name: str
) -> None:
    """A hole's wind; where "10 from 2" is too wide for its column, '10/2'."""
    left, middle = at
    if wind.from_deg is not None:
        centre = left + 6 + ARROW_PX / 2, middle
        draw_arrow(canvas, centre=centre, length=ARROW_PX, from_deg=wind.from_deg, name=name)
    colour = INK if wind.from_deg is not None else SOFT
    at = (left + 12 + ARROW_PX, middle + BASELINE_PX)
    fits = canvas.faces.width_px(wind.words, TEXT_PX) <= width - ARROW_PX - 16
    words = wind.words if fits else wind.words.replace(" from ", "/")
    canvas.text(*at, words, size=TEXT_PX, colour=colour)
