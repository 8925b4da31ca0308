"""The wind sheet for a chat: pages as low as they are wide, since a chat shrinks taller ones."""

from matplotlib.figure import Figure

from bot.drawing.canvas import Canvas, new_figure
from bot.drawing.glyphs import Faces
from bot.drawing.sheet import SPEEDS_PX, draw_table, table_height
from bot.drawing.sheet_scene import SheetScene
from bot.drawing.sheet_tables import Table, tables
from bot.drawing.style import EDGE_PX, PHONE_PX, SMALL_PX, SOFT

HEAD_PX = 20.0
NAME_PX = 22.0
BOTTOM_PX = 4.0
HIGHEST_PX = 402.0
HOW_TO_READ = (
    "**Bold**: aim so far to the side the wind comes from. ▲ and so much long, ▼ so much short, "
    "– can't be set up. Between two columns take what lies between."
)


def sheet_pages(scene: SheetScene, faces: Faces) -> list[Figure]:
    """The sheet as pages of a phone's width, each with as many tables as it holds."""
    pages = _paged(tables(scene))
    return [_page(scene, page, number, len(pages), faces) for number, page in enumerate(pages, 1)]


def _page(scene: SheetScene, page: list[Table], number: int, count: int, faces: Faces) -> Figure:
    heights = [_height(table, first=not at) for at, table in enumerate(page)]
    figure = new_figure(width_px=PHONE_PX, height_px=HEAD_PX + sum(heights) + BOTTOM_PX)
    canvas = Canvas(figure, faces)
    aside = f"{number} of {count}" if count > 1 else ""
    right = canvas.text(PHONE_PX - EDGE_PX, 15, aside, size=SMALL_PX, colour=SOFT, anchor="right")
    room = PHONE_PX - 2 * EDGE_PX - right.width - 8
    said = faces.clipped(scene.subtitle, size_px=SMALL_PX, width_px=room)
    canvas.text(EDGE_PX, 15, said, size=SMALL_PX, colour=SOFT)
    top = HEAD_PX
    for at, (table, height) in enumerate(zip(page, heights, strict=True)):
        speeds = _says_speeds(table, first=not at)
        draw_table(canvas.part(left=0, top=top), table, scene, name_px=NAME_PX, speeds=speeds)
        top += height
    return figure


def _says_speeds(table: Table, *, first: bool) -> bool:
    """Tables of hours stand below each other with the same columns; one row of speeds is enough."""
    return first or table.hour is None


def _height(table: Table, *, first: bool) -> float:
    speeds = SPEEDS_PX if _says_speeds(table, first=first) else 0.0
    return table_height(table, name_px=NAME_PX, speeds_px=speeds, gap_px=0.0) + 4.0


def _paged(every: list[Table]) -> list[list[Table]]:
    """Tables in order, as many on each page as it holds."""
    pages: list[list[Table]] = []
    room = 0.0
    for table in every:
        if not pages or _height(table, first=False) > room:
            pages.append([])
            room = HIGHEST_PX - HEAD_PX - BOTTOM_PX
        room -= _height(table, first=not pages[-1])
        pages[-1].append(table)
    return pages
