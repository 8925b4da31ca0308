"""The wind sheet as one page of tables, a wind speed a column."""

from matplotlib.figure import Figure

from bot.drawing.canvas import Box, Canvas, Pen, Points, new_figure, points
from bot.drawing.glyphs import Faces
from bot.drawing.heading import draw_heading, heading_height
from bot.drawing.sheet_scene import HOURS, SheetScene
from bot.drawing.sheet_tables import Row, Table, hour_words, tables
from bot.drawing.style import (
    CARD,
    EDGE_PX,
    HAIR,
    INK,
    PHONE_PX,
    RUST,
    SEA,
    SMALL_PX,
    SOFT,
    TEXT_PX,
)
from bot.drawing.wind import draw_arrow
from bot.drawing.wording import unit_name
from shared.units import DEGREES_PER_HOUR
from shared.wording import speed

ROW_PX = 18.0
NAME_PX = 28.0  # a table's title
SPEEDS_PX = 17.0  # the row of wind speeds
GAP_PX = 10.0
FOOT_PX = 76.0
CLUB_PX, PAIR_PX, HOUR_PX = 114.0, 92.0, 58.0  # the first column, by what it holds
NUMBER_PX = 12.0
BASELINE_PX = 4.3  # of a number, below the middle of its row
ARROW_PX = 14.0
MOST_COLUMNS = 3
WIDE_PX = 80.0  # a column that takes the larger numbers
ACROSS_SHARE, NARROW_SHARE = 0.46, 0.5  # of a column, where its first number ends
SIGN_PX = 6.0  # of the triangle for long or short
SHOWN = 0.05  # smaller marks show as 0.0


def sheet_figure(scene: SheetScene, faces: Faces, *, columns: int = 1) -> Figure:
    """The page; one column is for a phone, two or three for a wide screen or for paper."""
    shares = _shared(tables(scene), max(1, min(columns, MOST_COLUMNS)))
    width = PHONE_PX * len(shares)
    head = heading_height(faces, scene.title, scene.subtitle, width_px=width)
    tallest = max(sum(table_height(table) for table in share) for share in shares)
    figure = new_figure(width_px=width, height_px=head + tallest + FOOT_PX)
    canvas = Canvas(figure, faces)
    top = draw_heading(canvas, scene.title, scene.subtitle, width_px=width)
    for count, share in enumerate(shares):
        y = top
        for table in share:
            draw_table(canvas.part(left=count * PHONE_PX, top=y), table, scene)
            y += table_height(table)
    _foot(canvas, top + tallest + 4)
    return figure


def _shared(all_tables: list[Table], columns: int) -> list[list[Table]]:
    """Tables in columns of about one height, in order."""
    columns = min(columns, len(all_tables))
    total = sum(table_height(table) for table in all_tables)
    shares: list[list[Table]] = [[] for _ in range(columns)]
    done = 0.0
    for table in all_tables:
        middle = done + table_height(table) / 2
        shares[min(columns - 1, int(middle / total * columns))].append(table)
        done += table_height(table)
    return [share for share in shares if share]


def table_height(
    table: Table,
    *,
    name_px: float = NAME_PX,
    speeds_px: float = SPEEDS_PX,
    gap_px: float = GAP_PX,
) -> float:
    """What a table takes from top to bottom."""
    return name_px + speeds_px + ROW_PX * len(table.rows) + gap_px


def draw_table(
    canvas: Canvas,
    table: Table,
    scene: SheetScene,
    *,
    name_px: float = NAME_PX,
    speeds: bool = True,
) -> None:
    """A table with its title above it, at the top left of the canvas; ``speeds``: a row of them."""
    speeds_px = SPEEDS_PX if speeds else 0.0
    height = table_height(table, name_px=name_px, speeds_px=speeds_px, gap_px=0.0)
    box = Box(EDGE_PX, name_px, PHONE_PX - EDGE_PX, height)
    _title(canvas, box, table)
    canvas.box(box, CARD)
    first = box.top + speeds_px
    rules = [
        points((box.left, first + row * ROW_PX), (box.right, first + row * ROW_PX))
        for row in range(len(table.rows))
    ]
    labels = _labels_px(table)
    column = (box.width - labels) / len(scene.speeds_mps)
    lefts = [box.left + labels + n * column for n in range(len(scene.speeds_mps))]
    rules += [points((x, box.top), (x, box.bottom)) for x in lefts]
    canvas.lines(rules, Pen(HAIR, 0.7))
    canvas.box(box, None, Pen(INK, 1.1))
    if speeds:
        _speeds(canvas, table, scene, lefts, column, box.top + 13)
    signs: list[Points] = []
    for count, row in enumerate(table.rows):
        middle = first + (count + 0.5) * ROW_PX
        _row_name(canvas, box.left, middle, row, table)
        for left, cell in zip(lefts, row.cells, strict=True):
            signs += _cell(canvas, left, middle, column, cell, sided=not table.paired)
    canvas.shapes(signs, INK, name="signs")


def _labels_px(table: Table) -> float:
    if table.hour is not None:
        return CLUB_PX
    return PAIR_PX if table.paired else HOUR_PX


def _speeds(
    canvas: Canvas, table: Table, scene: SheetScene, lefts: list[float], column: float, y: float
) -> None:
    """The row of wind speeds, one above each column."""
    for left, wind_mps in zip(lefts, scene.speeds_mps, strict=True):
        label = speed(wind_mps, scene.units)
        at = left + column / 2, y
        canvas.text(*at, label, size=SMALL_PX, colour=SEA, face="bold", anchor="centre")
    if table.hour is not None:
        carry = f"carry, {unit_name(scene.units)}"
        canvas.text(lefts[0] - 5, y, carry, size=SMALL_PX, colour=SOFT, anchor="right")


def _title(canvas: Canvas, box: Box, table: Table) -> None:
    aside = canvas.text(
        *(box.right, box.top - 8, table.aside), size=SMALL_PX, colour=SOFT, anchor="right"
    )
    left = box.left
    if table.hour is not None:
        left += _arrows(canvas, left, box.top - 14, table.hour, table.paired)
    room = box.width - (left - box.left) - aside.width - 8
    title = canvas.faces.clipped(table.title, size_px=TEXT_PX, width_px=room, face="bold")
    canvas.text(left, box.top - 8, title, size=TEXT_PX, face="bold")


def _arrows(canvas: Canvas, left: float, middle: float, hour: int, paired: bool) -> float:
    """Arrows that fly downwind, the left hour's first; the width they take."""
    size = 1.3 * ARROW_PX
    deg = hour * DEGREES_PER_HOUR
    both = [(HOURS - hour, -deg), (hour, deg)] if paired and hour % 6 else [(hour, deg)]
    for count, (each, from_deg) in enumerate(both):
        centre = left + size / 2 + count * (size + 4), middle
        draw_arrow(canvas, centre=centre, length=size, from_deg=from_deg, name=f"hour {each}")
    return len(both) * (size + 4) + 4


def _row_name(canvas: Canvas, left: float, middle: float, row: Row, table: Table) -> None:
    baseline = middle + BASELINE_PX
    if row.hour is None:
        end = left + CLUB_PX - 5
        carry = canvas.figures(end, baseline, row.carry, size=SMALL_PX, colour=INK)
        room = CLUB_PX - 14 - carry.width
        name = canvas.faces.clipped(row.club, size_px=SMALL_PX, width_px=room)
        canvas.text(left + 5, baseline, name, size=SMALL_PX)
        return
    deg = row.hour * DEGREES_PER_HOUR
    end = left + _labels_px(table)
    label = hour_words(row.hour, paired=table.paired)
    middle_x = (left + end) / 2 if table.paired else left + 18
    canvas.text(middle_x, baseline, label, size=NUMBER_PX, anchor="centre")
    at = (end - 14, middle)
    draw_arrow(canvas, centre=at, length=ARROW_PX, from_deg=deg, name=f"hour {row.hour}")
    if table.paired and row.hour % 6:
        other = HOURS - row.hour
        at = (left + 14, middle)
        draw_arrow(canvas, centre=at, length=ARROW_PX, from_deg=-deg, name=f"hour {other}")


def _cell(
    canvas: Canvas,
    left: float,
    middle: float,
    width: float,
    cell: tuple[float | None, float | None],
    *,
    sided: bool,
) -> list[Points]:
    """The two numbers of a cell; the sign of the second, which is drawn with all others."""
    baseline = middle + BASELINE_PX
    right, long = cell
    if right is None or long is None:
        canvas.text(left + width / 2, baseline, "–", size=NUMBER_PX, colour=SOFT, anchor="centre")
        return []
    wide = width >= WIDE_PX
    size, share = (NUMBER_PX, ACROSS_SHARE) if wide else (SMALL_PX, NARROW_SHARE)
    side = "" if not sided or abs(right) < SHOWN else ("R" if right > 0 else "L")
    across = f"{abs(right):.1f}{side}"
    canvas.figures(left + share * width, baseline, across, size=size, colour=RUST, face="bold")
    end = left + width - 4
    box = canvas.figures(end, baseline, f"{abs(long):.1f}", size=size, colour=INK)
    if abs(long) < SHOWN:
        return []
    half = SIGN_PX / 2 if long > 0 else -SIGN_PX / 2
    x = box.left - SIGN_PX / 2 - 1.5
    return [
        points(
            (x - SIGN_PX / 2, middle + half), (x, middle - half), (x + SIGN_PX / 2, middle + half)
        )
    ]


def _foot(canvas: Canvas, top: float) -> None:
    lines = (
        "bold: aim so far to the side the wind comes from",
        "▲ and so much long, ▼ so much short; – can't be set up",
        "between two columns take what lies between",
        "Leeward · for video and simulator golf",
    )
    for count, line in enumerate(lines):
        canvas.text(EDGE_PX, top + 12 + 16 * count, line, size=SMALL_PX, colour=SOFT)
