"""Everything kept about a member as a page to read; the file beside it holds the same whole."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime

from bot.services.results.outcome import outcome_words
from shared.keys import hole_played
from shared.text import visible
from shared.units import UNITS, UnitSystem
from shared.wording import length, plural
from storage.json import JsonObject
from storage.played import Result

CENTIMETRES_PER_YARD = 91.44
TITLES = {
    "bags": "Your bag",
    "divisions": "Your divisions",
    "results": "Your results",
    "votes": "Your votes",
    "revisions": "What you wrote or shared",
    "decisions": "What you decided as a coach",
    "measured_series": "Shots you measured",
    "member_rounds": "Your round",
    "drafts": "Not saved yet",
    "told_aims": "What you were told to aim lately",
    "homes": "This server answers your direct messages",
    "outbox": "Messages about you",
}


def readable(
    found: Mapping[str, list[JsonObject]], results: Sequence[Result], units: UnitSystem
) -> str:
    """A page of sections, one line a thing; ``found`` are the rows of each table.

    ``results`` are those that stand. A table without a title here is shown field by field.
    """
    unit = UNITS[units].distance
    page = ["Everything kept about you on this server", f"Lengths in {unit}, times in UTC", ""]
    for table, rows in found.items():
        if not rows:
            continue
        page.append(f"{TITLES.get(table, table)} ({len(rows)})")
        if table == "results":
            page += [f"  {_result(each, units)}" for each in results]
            if gone := len(rows) - len(results):
                page.append(f"  and {plural(gone, 'result')} corrected or taken back")
        else:
            words = _ROWS.get(table, _fields)
            page += [f"  {_when(row)}{visible(words(row))}" for row in rows]
        page.append("")
    if len(page) == 3:
        page.append("Nothing is kept about you here.")
    return "\n".join(page).rstrip() + "\n"


def _result(each: Result, units: UnitSystem) -> str:
    played, hole = each.played, hole_played(each.played.hole_key)
    where = f"measured {played.club}"
    if hole is not None:
        where = f"{hole.event} hole {hole.number}, line {played.variant}, try {each.attempt}"
    parts = [f"{where}: {outcome_words(played, units)}"]
    if played.wind_shown:
        parts.append(f"wind {played.wind_shown}")
    if played.club:
        parts.append(" ".join((played.club, played.grade, played.ball)).strip())
    if played.carry_cm is not None:
        parts.append(length(played.carry_cm / CENTIMETRES_PER_YARD, units, 0))
    if played.left_out:
        parts.append(f"left out by a coach: {played.left_out}")
    return f"{each.created_at:%d %b %Y %H:%M}  {visible(', '.join(parts))}"


def _bag(row: JsonObject) -> str:
    grades = row["grades"]
    clubs = (
        [f"{club} {grade}" for club, grade in grades.items()] if isinstance(grades, dict) else []
    )
    parts = [", ".join(clubs) or "default grades"]
    parts += [f"ball {row['ball']}"] if row.get("ball") else []
    parts += [f"units {row['units']}"] if row.get("units") else []
    return "; ".join(parts) + ("; answers for you alone" if row.get("private") else "")


def _vote(row: JsonObject) -> str:
    given = "voted for" if row["added"] else "took back"
    return f"poll {row['poll_id']}: {given} answer {row['answer']}"


def _written(row: JsonObject) -> str:
    reason = f" ({row['reason']})" if row.get("reason") else ""
    return f"{row['kind']} {row['key']}, edition {row['number']}{reason}"


def _decided(row: JsonObject) -> str:
    return f"{row['what']}: {row['reason']}" if row.get("reason") else str(row["what"])


def _measured(row: JsonObject) -> str:
    body = row["body"]
    shots = body.get("shots") if isinstance(body, dict) else None
    count = f", {plural(len(shots), 'shot')}" if isinstance(shots, list) else ""
    return f"{row['club']}{count}"


def _told(row: JsonObject) -> str:
    body = row["body"]
    aims = body if isinstance(body, list) else []
    clubs = dict.fromkeys(str(each["club"]) for each in aims if isinstance(each, dict))
    return f"{plural(len(aims), 'aim')}, with {', '.join(clubs)}"


_ROWS: dict[str, Callable[[JsonObject], str]] = {
    "bags": _bag,
    "divisions": lambda row: f"{row['event']}: {row['division']}",
    "votes": _vote,
    "revisions": _written,
    "decisions": _decided,
    "measured_series": _measured,
    "told_aims": _told,
}
_HIDDEN = frozenset({"community_id", "member_id", "id", "created_at", "updated_at", "at"})


def _fields(row: JsonObject) -> str:
    """A row as its fields; what is itself a list of things stays in the file."""
    simple = {
        name: value
        for name, value in row.items()
        if name not in _HIDDEN and value not in (None, "") and not isinstance(value, list | dict)
    }
    return ", ".join(f"{name} {value}" for name, value in simple.items()) or "kept in the file"


def _when(row: JsonObject) -> str:
    for name in ("created_at", "updated_at", "at"):
        if isinstance(text := row.get(name), str):
            return f"{datetime.fromisoformat(text):%d %b %Y %H:%M}  "
    return ""
