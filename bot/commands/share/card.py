"""A shared line as a message: its card and its buttons."""

import discord

from bot.chat.message import SEA
from bot.chat.publisher import body_of
from bot.services.actions import AskLineForMe, ButtonFields, DecideShared, LogTry
from bot.services.book.shot_rows import format_rows
from bot.services.results.outcome import tally_words
from bot.services.sharing.messages import SharedLine
from shared.text import clipped, plain
from storage.json import JsonObject

MOST_ROWS, MOST_NOTES = 1800, 600


def share_body(shared: SharedLine) -> JsonObject:
    """The message of a shared line, to be kept in the outbox."""
    return body_of(share_embed(shared), buttons=_buttons(shared))


def share_embed(shared: SharedLine) -> discord.Embed:
    """A shared line: in which wind, its shots, what its author says, what came of it."""
    line, tally = shared.line, shared.tally
    said = [
        f"Wind **{plain(line.wind)}** · {plain(shared.event)}",
        clipped(plain(format_rows(line.shots, mark=shared.mark), MOST_ROWS), MOST_ROWS + 200),
    ]
    if line.notes:
        said.append(clipped(plain(line.notes, MOST_NOTES), 2 * MOST_NOTES))
    said.append(f"**{line.variant}** {tally_words(tally)}" if tally else "Nobody has logged a try.")
    what = "an idea" if line.status == "idea" else f"now {line.status}"
    title = f"Hole {shared.hole}, line {line.variant} ({what}): shared by {plain(line.author)}"
    return discord.Embed(title=clipped(title, 256), description="\n".join(said), colour=SEA)


def _buttons(shared: SharedLine) -> list[ButtonFields]:
    """*Worked for me*, *Missed*, *For me*; for an idea also what a coach and its author do."""
    event, hole, variant = shared.event, shared.hole, shared.line.variant
    found = LogTry.pair(event=event, hole=hole, variant=variant, went_in="Worked for me")
    found.append(AskLineForMe(hole, variant, event).as_button())
    if shared.line.status == "idea":
        found += [DecideShared(act, hole, variant, event).as_button() for act in ("on", "back")]
    return found
