"""The kit's file: TOML text to ``Kit``, with what only a whole kit can have wrong."""

import json
from collections.abc import Iterable, Mapping
from typing import Final, cast

from shared.errors import ShotTextError
from shared.kit import Kit
from shared.shot import Shot
from shared.shot_text.name_index import key_of
from shared.shot_text.reader import parse
from shared.shot_text.write import format_shot
from shared.toml_file import Data, FileProblemsError, Finding, decode, read_toml, render_problems

__all__ = ["FileProblemsError", "decode", "read_kit", "render_problems"]

_FIRST: Final = ("standard", 165.0, 107.0)  # a grade
_EXAMPLES: Final = {
    "mark": "mark = { full_yd = 1.6, short_yd = 0.8 }",
    "wind_share": "wind_share = 0.85",
    "carry_gain": "carry_gain = 0.02",
    "chart": "chart = [[0.5, 0.6], [1.0, 0.9]]",
    "charts": "charts = { into = [[1.0, 0.9]], helping = [[1.0, 0.5]], across = [[1.0, 0.7]] }",
    "into": "into = [[0.7, 0.6], [1.0, 0.9]]",
    "helping": "helping = [[0.7, 0.4], [1.0, 0.5]]",
    "across": "across = [[0.7, 0.5], [1.0, 0.7]]",
    "limits": "limits = { over_full = 0.1, marks = 30 }",
    "surfaces": 'surfaces = [{ kind = "green", stimp_ft = 11 }]',
    "kind": 'kind = "green"',
    "firmness": "firmness = 0.9",
    "friction": "friction = 0.4",
    "stimp_ft": "stimp_ft = 11",
    "rises_percent": "rises_percent = 2",
    "rises_right_percent": "rises_right_percent = -1.5",
    "carry_share": "carry_share = 0.92",
    "spin_share": "spin_share = 0.7",
    "spread": "spread = 1.5",
    "spin": "spin = { back_share = 0.08, side_tilt_deg = 2 }",
}


def kit_examples(like: Kit | None) -> dict[str, str]:
    """A right line of a kit by field, of the clubs and balls of a kit that is played.

    Without one, of a 5-iron.
    """
    club, ball = (like.clubs[len(like.clubs) // 2], like.balls[0]) if like else (None, None)
    name, family = (club.name, club.family) if club else ("5-iron", "long iron")
    grade = club.grades[0] if club else None
    named, full, short = (grade.name, grade.full_yd, grade.short_yd) if grade else _FIRST
    each = f"{{ name = {_quoted(named)}, full_yd = {full:g}, short_yd = {short:g} }}"
    grades = f"grades = [{each}]"
    other = ball.name if ball else "standard"
    return _EXAMPLES | {
        "": f'clubs = [{{ name = {_quoted(name)}, family = "{family}", {grades} }}]',
        "name": f"name = {_quoted(name)}",
        "balls": f"balls = [{{ name = {_quoted(other)}, wind_share = 1.0 }}]",
        "family": f'family = "{family}"',
        "aliases": 'aliases = ["5i"]',
        "launch": 'launch = "5-iron"',  # of the published table, which every game shares
        "grades": grades,
    }


def _quoted(name: str) -> str:
    return json.dumps(name, ensure_ascii=False)


def read_kit(text: str, *, file: str, like: Kit | None = None) -> Kit:
    """The kit that ``text`` describes; ``file`` is its name for errors, and
    their examples name the clubs of ``like``.

    Errors: FileProblemsError (a KitFileError) with every problem, each with its line and field.
    """
    return read_toml(
        text,
        file=file,
        model=Kit,
        examples=kit_examples(like),
        check=_repeated,
        check_model=unreadable_names,
    )


def _repeated(data: Data) -> Iterable[Finding]:
    """Names that stand for two clubs, two balls, or two grades of one club."""
    taken: set[str] = set()
    for place, club in _tables(data.get("clubs")):
        aliases = club.get("aliases")
        labels: list[tuple[tuple[str | int, ...], object]] = [(("name",), club.get("name"))]
        if isinstance(aliases, list):
            entries = cast("list[object]", aliases)
            labels += [(("aliases", at), alias) for at, alias in enumerate(entries)]
        for where, label in labels:
            if isinstance(label, str) and label.casefold() in taken:
                yield ("clubs", place, *where), f"“{label[:40]}” already names another club."
            elif isinstance(label, str):
                taken.add(label.casefold())
        for at, name in _again(club.get("grades"), fold=False):
            path = ("clubs", place, "grades", at, "name")
            yield path, f"“{name[:40]}” already names another grade of this club."
    for at, name in _again(data.get("balls"), fold=True):
        yield ("balls", at, "name"), f"“{name[:40]}” already names another ball."
    for at, name in _again(data.get("surfaces"), fold=False, key="kind"):
        yield ("surfaces", at, "kind"), f"“{name[:40]}” is described twice."


def _again(tables: object, *, fold: bool, key: str = "name") -> Iterable[tuple[int, str]]:
    """The places and names (``key``) of tables whose name an earlier one has."""
    taken: set[str] = set()
    for at, table in _tables(tables):
        name = table.get(key)
        if not isinstance(name, str):
            continue
        known = name.casefold() if fold else name
        if known in taken:
            yield at, name
        taken.add(known)


def _tables(value: object) -> Iterable[tuple[int, Mapping[str, object]]]:
    entries = cast("list[object]", value) if isinstance(value, list) else []
    for place, entry in enumerate(entries):
        if isinstance(entry, dict):
            yield place, cast(Mapping[str, object], entry)


def unreadable_names(kit: Kit) -> Iterable[Finding]:
    """Names that a shot text would not give back as they are."""
    for place, club in enumerate(kit.clubs):
        path = ("clubs", place)
        yield from _name_findings((*path, "name"), "club", club.name, Shot(club=club.name), kit)
        for at, grade in enumerate(club.grades):
            where = (*path, "grades", at, "name")
            yield from _name_findings(where, "grade", grade.name, None, kit)
    for place, ball in enumerate(kit.balls):
        where = ("balls", place, "name")
        yield from _name_findings(where, "ball", ball.name, Shot(ball=ball.name), kit)


def _name_findings(
    where: tuple[str | int, ...], what: str, name: str, shot: Shot | None, kit: Kit
) -> Iterable[Finding]:
    if name != name.strip():
        yield where, f"The {what} “{name}” ends in a blank."
    elif not key_of(name)[1] or (shot is not None and not _reads_back(shot, kit)):
        yield where, f"The {what} “{name}” could be taken for something else in a shot; rename it."


def _reads_back(shot: Shot, kit: Kit) -> bool:
    try:
        return parse(format_shot(shot), kit=kit) == shot
    except ShotTextError:
        return False
