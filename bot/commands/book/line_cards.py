"""What a coach sees while writing a line: the card, what can't be read, a conflict, the history."""

from collections.abc import Sequence

import discord

from bot.chat.message import SAND, SEA
from bot.chat.written import words_of
from bot.commands.book.line_card import line_embed
from bot.services.actions import ButtonFields
from bot.services.book.drafts import LineDraft
from bot.services.book.line_service import Shown
from bot.services.book.lines import LineConflictError
from bot.services.book.shot_rows import RowsError, format_rows
from bot.services.book.stored import KeptLine
from bot.services.book.words import worked_words
from bot.services.book_actions import BringBack, DraftForm
from shared import limits
from shared.book import Line
from shared.errors import InputError
from shared.text import clipped, code_block, plain, size, when
from shared.wording import error_example, error_sentence, quoted

MOST_ERRORS = 1700  # characters, beside a form's text of 4,000 in the 6,000 of a message
MOST_CONFLICT = 1500


def preview_embed(draft: LineDraft, shown: Shown, doubts: Sequence[str] = ()) -> discord.Embed:
    """A draft as a card, not yet saved, with what looks wrong on top."""
    letter = f"line {draft.variant}" if draft.variant else "new line"
    embed = shown_embed(shown, heading=f"Hole {draft.hole}, {letter}, not saved yet")
    if doubts:
        said = "\n".join(f"⚠ {plain(each, 200)}" for each in doubts)
        embed.description, embed.colour = f"{said}\n{embed.description}", SAND
    embed.set_footer(text="Worked: what you wrote. Computed: what the engine makes of it.")
    return embed


def shown_embed(shown: Shown, *, heading: str = "") -> discord.Embed:
    """A line as a card."""
    return line_embed(
        shown.reading, hole=shown.hole, units=shown.units, mark=shown.mark, heading=heading
    )


def refused_embeds(draft: LineDraft, error: InputError) -> list[discord.Embed]:
    """What can't be read, row by row, and the coach's own text."""
    said = "\n".join(_sentences(draft, error))
    embed = discord.Embed(
        title="This can't be read yet; press Change, your text is kept",
        description=clipped(said, MOST_ERRORS),
        colour=SAND,
    )
    own = discord.Embed(description=code_block(own_text(draft), limits.DESCRIPTION - 12))
    return [embed, own]


def given_up_embed(draft: LineDraft) -> discord.Embed:
    """The text of a draft that was given up, to be copied from."""
    return discord.Embed(
        title="Given up, nothing was saved; this was the text",
        description=code_block(own_text(draft), limits.DESCRIPTION - 12),
        colour=SAND,
    )


def conflict_embeds(error: LineConflictError, *, mark: str) -> list[discord.Embed]:
    """Two coaches at once: what the other one saved, and one's own text."""
    newest, mine = error.newest, error.unsaved
    who = plain((newest.author_name if newest else None) or "Somebody")
    at = f" {when(newest.at)}" if newest else ""
    name = f"line {newest.hole}{newest.variant}" if newest else "the line"
    if newest is not None and newest.line is not None:
        title, theirs = "Somebody was quicker; yours is not saved yet", _text(newest.line, mark)
        told = f"**{who}** changed {name}{at}. Now it says:\n{code_block(theirs, MOST_CONFLICT)}"
    else:
        title = "The line is gone; yours is not saved yet"
        told = f"**{who}** removed {name}{at}."
    embeds = [discord.Embed(title=title, description=told, colour=SAND)]
    if mine is not None:
        own = code_block(_text(mine, mark), MOST_CONFLICT)
        embeds.append(discord.Embed(title="Yours, kept for you", description=own, colour=SEA))
    return embeds


def history_embed(revisions: Sequence[KeptLine], *, mark: str) -> discord.Embed:
    """The last revisions, newest first: when, by whom, what changed."""
    newest = revisions[0]
    told = ""
    for revision, before in zip(revisions, (*revisions[1:], None), strict=False):
        who = plain(revision.author_name or "somebody")
        changed = _changed(revision, before, mark)
        more = f"**{revision.revision}** {when(revision.at)} by {who}: {changed}\n"
        if revision.line is not None and _reads_otherwise(revision, before):
            more += f"{code_block(_text(revision.line, mark), 240)}\n"
        if size(told + more) > limits.DESCRIPTION:
            break
        told += more
    title = f"History of line {newest.hole}{newest.variant}"
    embed = discord.Embed(title=title, description=told, colour=SEA)
    return embed


MOST_BACK = 10  # buttons; older ones are brought back by their number


def back_buttons(revisions: Sequence[KeptLine], event: str) -> list[ButtonFields]:
    """A button for each of the last earlier texts, to bring it back."""
    earlier = [each for each in revisions[1:] if each.line is not None]
    return [
        BringBack(each.hole, each.variant, each.revision, event).button(
            f"Bring back {each.revision}"
        )
        for each in earlier[:MOST_BACK]
    ]


def own_text(draft: LineDraft) -> str:
    """What a coach typed, as they typed it."""
    parts = [draft.title, draft.wind, draft.rows, draft.notes]
    return "\n".join(part for part in parts if part)


def _text(line: Line, mark: str) -> str:
    parts = [line.title or "", line.wind, format_rows(line.shots, mark=mark), line.notes]
    return "\n".join(part for part in parts if part)


def _sentences(draft: LineDraft, error: InputError) -> list[str]:
    if not isinstance(error, RowsError):
        fields = {"wind": draft.wind, "rows": draft.rows, "notes": draft.notes}
        wrote = words_of(fields, DraftForm.labels, error)
        return [f"{wrote}{plain(error_sentence(error))}\nFor example: `{error_example(error)}`"]
    return [
        f"Can't be read under **{DraftForm.labels['rows']}**:",
        *(
            f"**Shot {row.row}** {quoted(row.given)}: {plain(row.sentence)}\n"
            f"For example: `{error_example(row)}`"
            for row in error.errors
        ),
    ]


FIELDS = {
    "title": "title",
    "status": "status",
    "divisions": "divisions",
    "wind": "wind",
    "shots": "shots",
    "notes": "notes",
}


MOST_SHOTS_SAID = 3


def _shots_changed(then: Line, now: Line, mark: str) -> list[str]:
    """'shot 2: aim 4.9 left → 4.6 left', of each shot that reads otherwise."""
    said: list[str] = []
    for place in range(max(len(then.shots), len(now.shots))):
        was = then.shots[place] if place < len(then.shots) else None
        is_ = now.shots[place] if place < len(now.shots) else None
        if was == is_:
            continue
        if was is None or is_ is None:
            said.append(f"shot {place + 1} {'added' if was is None else 'taken out'}")
        elif was.shot == is_.shot and was.worked != is_.worked:
            aims = [
                worked_words(each.worked, mark) if each.worked else "none" for each in (was, is_)
            ]
            said.append(f"shot {place + 1}: aim {aims[0]} → {aims[1]}")
        elif was.shot != is_.shot:
            said.append(f"shot {place + 1}: {plain(was.shot)} → {plain(is_.shot)}")
        else:
            said.append(f"shot {place + 1}: room, leaves or note changed")
    return said[:MOST_SHOTS_SAID] + ["…"] * (len(said) > MOST_SHOTS_SAID)


def _reads_otherwise(revision: KeptLine, before: KeptLine | None) -> bool:
    now, then = revision.line, before.line if before else None
    return now is None or then is None or _text(now, "") != _text(then, "")


def _changed(revision: KeptLine, before: KeptLine | None, mark: str) -> str:
    if revision.line is None:
        return "removed"
    if before is None or before.line is None:
        return revision.reason or "added"
    now, then = revision.line, before.line
    fields = [said for name, said in FIELDS.items() if getattr(now, name) != getattr(then, name)]
    if fields == ["status"]:
        told = f"{then.status} → {now.status}"
    else:
        said = [field for field in fields if field != "shots"]
        told = f"{', '.join(said)} changed" if said else "" if fields else revision.reason
        if "shots" in fields:
            told = "; ".join(filter(None, (told, *_shots_changed(then, now, mark))))
    return f"{told} ({revision.reason})" if revision.reason.startswith("brought") else told
