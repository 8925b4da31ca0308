"""A kit as a TOML file: what ``shared.kit_file`` reads back as the same kit."""

import tomlkit
from tomlkit.items import Table

from bot.services.book.toml_out import fill_table, tables_of
from shared.kit import Kit

INTRODUCTION = (
    "A game: clubs with their grades, balls, the size of a mark. Lengths are yards.",
    "/kit load shows what it changes before anything is kept.",
)


def kit_toml(kit: Kit) -> str:
    """The file of a kit, every field that has a value."""
    head = tomlkit.document()
    for line in INTRODUCTION:
        head.add(tomlkit.comment(line))
    head.add(tomlkit.nl())
    fill_table(head, kit, without="clubs")
    clubs: list[Table] = []
    for club in kit.clubs:
        table = tomlkit.table()
        fill_table(table, club)
        clubs.append(table)
    body = tomlkit.document()
    body.append("clubs", tables_of(clubs))
    return f"{tomlkit.dumps(head)}\n{tomlkit.dumps(body)}"
