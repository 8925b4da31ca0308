"""Shared shots as they stand in the notes channel, kept right by the outbox."""

import discord

from bot.chat.embeds import SEA
from bot.chat.plain import plain
from bot.chat.publisher import body_of
from bot.commands.for_me.buttons import forme_id
from bot.commands.results.buttons import log_buttons
from bot.services.book.changes import BookChange
from bot.services.book.shot_rows import format_rows
from bot.services.results.service import Try
from bot.services.results.words import tally_words
from bot.services.sharing.service import ShareService
from shared import limits
from shared.book import Event, Line
from shared.errors import LeewardError
from shared.keys import EventKey, share_key
from shared.text import clipped
from storage.outbox import Message, Outbox
from storage.tallies import LineTally

MOST_ROWS, MOST_NOTES = 1800, 600
ON, BACK = "on", "back"
LABELS = {ON: "Make it a line", BACK: "Take back"}


class ShareMessages:
    """Wants shared shots in the channel, and wants them anew when something changes."""

    def __init__(self, *, service: ShareService, outbox: Outbox) -> None:
        self.service = service
        self.outbox = outbox

    async def post(self, community_id: int, event: str, hole: int, line: Line) -> Message | None:
        """Want a shared line in the notes channel; its message as the outbox knows it."""
        channel_id = await self.service.roles.notes_channel(community_id)
        key = share_key(EventKey.of(event).hole(hole).line(line.variant))
        if channel_id is not None:
            body = await self._body(community_id, event, hole, line)
            await self.outbox.want(community_id, key, channel_id, body)
        return await self.outbox.get(community_id, key)

    async def message(
        self, community_id: int, event: str, hole: int, variant: str
    ) -> Message | None:
        """The message of a shared line as the outbox knows it."""
        return await self.outbox.get(
            community_id, share_key(EventKey.of(event).hole(hole).line(variant))
        )

    async def refresh(self, change: BookChange) -> bool:
        """Want changed shared lines anew, retired ones gone; True where something is to be done."""
        try:
            event = await self.service.book.event(change.community_id, change.event)
        except LeewardError:
            return False
        wanted = False
        for number in sorted(change.holes):
            hole = event.hole(number)
            for line in hole.lines if hole else ():
                wanted |= await self._refresh_line(change.community_id, event, number, line)
        return wanted

    async def _refresh_line(self, community_id: int, event: Event, number: int, line: Line) -> bool:
        key = share_key(event.key.hole(number).line(line.variant))
        known = await self.outbox.get(community_id, key)
        if known is None or known.state == "gone":
            return False
        if line.retired:
            return await self.outbox.withdraw(community_id, key)
        body = await self._body(community_id, event.name, number, line)
        return await self.outbox.want(community_id, key, known.channel_id, body)

    async def _body(self, community_id: int, event: str, hole: int, line: Line):
        key = EventKey.of(event).hole(hole).line(line.variant)
        tallies = await self.service.results.tallies.of_holes(community_id, [str(key.hole)])
        tally = next((each for each in tallies if each.line_key == str(key)), None)
        mark = (await self.service.results.kits.caddie(community_id)).kit.mark.name
        return body_of(
            share_embed(event, hole, line, tally, mark), buttons=share_buttons(event, hole, line)
        )


def share_embed(
    event: str, hole: int, line: Line, tally: LineTally | None, mark: str
) -> discord.Embed:
    """A shared line: in which wind, its shots, what its author says, what came of it."""
    said = [
        f"Wind **{plain(line.wind)}** · {plain(event)}",
        clipped(plain(format_rows(line.shots, mark=mark), MOST_ROWS), MOST_ROWS + 200),
    ]
    if line.notes:
        said.append(clipped(plain(line.notes, MOST_NOTES), 2 * MOST_NOTES))
    said.append(f"**{line.variant}** {tally_words(tally)}" if tally else "Nobody has logged a try.")
    what = "an idea" if line.status == "idea" else f"now {line.status}"
    title = f"Hole {hole}, line {line.variant} ({what}): shared by {plain(line.author)}"
    return discord.Embed(
        title=clipped(title, limits.TITLE), description="\n".join(said), colour=SEA
    )


def share_buttons(event: str, hole: int, line: Line) -> list[dict[str, str]]:
    """*Worked for me*, *Missed*, *For me*; for an idea also what a coach and its author do."""
    found = log_buttons(Try(event, hole, line.variant), went_in="Worked for me")
    forme = {"label": "For me", "custom_id": forme_id(event=event, hole=hole), "style": "primary"}
    found.append(forme)
    if line.status == "idea":
        found += [
            {"label": label, "custom_id": share_id(act, event, hole, line.variant)}
            for act, label in LABELS.items()
        ]
    return found


def share_id(act: str, event: str, hole: int, variant: str) -> str:
    """The custom id of a button under a shared line."""
    return f"shared|{act}|{hole}|{variant}|{event}"
