"""An event as a TOML file: what ``bot.services.book.toml_in`` reads back as the same event."""

from collections.abc import Iterable, Mapping, MutableSequence
from typing import cast

import tomlkit
from tomlkit.items import AoT, InlineTable, Item, Table

from bot.services.book.cup_words import CupWords
from shared.book import Event, Hole, HoleWind, Line, LineShot, Room, Tee, Worked
from shared.kit import Kit
from shared.model import Model
from shared.shot_text import format_shot
from shared.shot_text.write import example_shot

INTRODUCTION = (
    "An event of the book. Numbers without a unit are yards, and mph for a wind.",
    "A wind's number after 'from' is an hour of the clock: 12 is into, 3 from the right.",
)

Plain = str | int | float | list["Plain"] | dict[str, "Plain"]


def event_toml(event: Event) -> str:
    """The file of an event; what is not set is left out."""
    head = tomlkit.document()
    for line in INTRODUCTION:
        head.add(tomlkit.comment(line))
    head.add(tomlkit.nl())
    fill_table(head, event, without="holes")
    # Hole by hole: as one document, a long event takes longer and halts everything else.
    return "\n".join([tomlkit.dumps(head), *(_hole_toml(hole) for hole in event.holes)])


def empty_event_toml(kit: Kit, words: CupWords) -> str:
    """A cup to be filled in: nine holes, a wind and a line of the first with every field."""
    first_division, round_ = words.divisions[0], words.rounds[0]
    line = Line(
        variant="A",
        title="down the middle",
        status="idea",
        author="your name",
        divisions=(first_division,),
        wind="8 mph from 2",
        shots=(
            LineShot(
                shot=format_shot(example_shot(kit, "yards").model_copy(update={"wind": None})),
                worked=Worked(right=4.5, long=2.0),
                room=Room(short_yd=8.0, long_yd=12.0),
                leaves_yd=(95.0, 110.0),
                note="what others should know",
            ),
        ),
        notes="of the line as a whole",
    )
    first = Hole(
        number=1,
        name="a name",
        par=4,
        yards=372,
        tees=(Tee(division=words.divisions[-1], par=4, yards=340),),
        bearing_deg=20,
        winds=(HoleWind(division=first_division, round=round_, wind="8 mph from 2"),),
        lines=(line,),
    )
    rest = tuple(Hole(number=number, par=4, yards=400) for number in range(2, 10))
    return event_toml(
        Event(
            name="New Cup",
            divisions=words.divisions,
            rounds=words.rounds,
            holes=(first, *rest),
        )
    )


def _hole_toml(hole: Hole) -> str:
    document = tomlkit.document()
    document.append("holes", tables_of([_hole(hole)]))
    return tomlkit.dumps(document)


def _hole(hole: Hole) -> Table:
    table = tomlkit.table()
    fill_table(table, hole, without="lines")
    if hole.lines:
        table.append("lines", tables_of(_line(line) for line in hole.lines))
    return table


def _line(line: Line) -> Table:
    table = tomlkit.table()
    fill_table(table, line, without="shots")
    table.append("shots", tables_of(_shot(shot) for shot in line.shots))
    return table


def _shot(shot: LineShot) -> Table:
    table = tomlkit.table()
    fill_table(table, shot)
    return table


def tables_of(tables: Iterable[Table]) -> AoT:
    """Tables as an array of tables."""
    return AoT(list(tables))


def fill_table(table: Table | tomlkit.TOMLDocument, model: Model, without: str = "") -> None:
    """Every field of a model that is set, but for one."""
    fields = cast(dict[str, Plain], model.model_dump(mode="json", exclude_none=True))
    for name, value in fields.items():
        if name != without and value not in ("", []):
            table.append(name, _item(value))


def _item(value: Plain) -> Item:
    if isinstance(value, Mapping):
        return _inline(value)
    if isinstance(value, list):
        array = tomlkit.array()
        cast(MutableSequence[Item], array).extend(_item(each) for each in value)
        return array.multiline(any(isinstance(each, dict) for each in value))
    if isinstance(value, float) and value.is_integer():
        return tomlkit.item(int(value))
    return tomlkit.item(value)


def _inline(fields: Mapping[str, Plain]) -> InlineTable:
    table = tomlkit.inline_table()
    for name, value in fields.items():
        table.append(name, _item(value))
    return table
