"""How a wind sheet is laid out: a table for every set-up, or for a whole bag one for every hour."""

from dataclasses import dataclass

from bot.drawing.sheet_scene import HALF_CLOCK, HOURS, Block, SheetScene
from bot.drawing.wording import metres

BY_SETUP = 4  # so many set-ups have a table each; more of them share one for each hour


@dataclass(frozen=True)
class Row:
    """A row: a club with its carry or an hour, and (right, long) in marks for each wind speed."""

    club: str
    carry: str
    hour: int | None
    cells: tuple[tuple[float | None, float | None], ...]


@dataclass(frozen=True)
class Table:
    """A table: of a set-up with ``hour`` None, else of an hour.

    ``paired`` says that an hour stands for its mirror on the left too.
    """

    title: str
    aside: str
    hour: int | None
    paired: bool
    rows: tuple[Row, ...]


def tables(scene: SheetScene) -> list[Table]:
    """The tables of a sheet in their order."""
    if len(scene.blocks) <= BY_SETUP:
        return [_setup_table(scene, block) for block in scene.blocks]
    paired = all(block.mirrored for block in scene.blocks)
    return [_hour_table(scene, hour, paired) for hour in range(HALF_CLOCK if paired else HOURS)]


def hour_words(hour: int, *, paired: bool) -> str:
    """'12', '10 · 2': an hour and, where it stands for both, its mirror."""
    return f"{HOURS - hour} · {hour}" if paired and hour % 6 else f"{hour or HOURS}"


def _setup_table(scene: SheetScene, block: Block) -> Table:
    paired = block.mirrored
    rows = tuple(
        Row("", "", hour, _cells(block, hour)) for hour in range(HALF_CLOCK if paired else HOURS)
    )
    each = f"one {scene.mark} is {metres(block.mark_m, scene.units, 2)}"
    name = f"{block.club} ({block.grade}) · {metres(block.carry_m, scene.units, 0)}"
    return Table(name, each, None, paired, rows)


def _hour_table(scene: SheetScene, hour: int, paired: bool) -> Table:
    rows = tuple(
        Row(block.club, _carry(scene, block), None, _cells(block, hour)) for block in scene.blocks
    )
    title = f"wind from {hour_words(hour, paired=paired)} o'clock"
    aside = {0: "into", 6: "helping"}.get(hour, "")
    return Table(title, aside, hour, paired, rows)


def _carry(scene: SheetScene, block: Block) -> str:
    return metres(block.carry_m, scene.units, 0).split(" ")[0]


def _cells(block: Block, hour: int) -> tuple[tuple[float | None, float | None], ...]:
    return tuple(zip(block.right_marks[hour], block.long_marks[hour], strict=True))
