"""Shared shots as they stand in the notes channel, kept right by the outbox."""

from collections.abc import Callable
from dataclasses import dataclass

from bot.services.sharing.service import ShareService
from shared.book import BookChange, Event, Line
from shared.errors import LeewardError, StorageError
from shared.keys import EventKey, share_key
from storage.json import JsonObject
from storage.outbox import Message, Outbox
from storage.tallies import LineTally


@dataclass(frozen=True)
class SharedLine:
    """What the message of a shared line shows; ``mark`` is the kit's name for a mark."""

    event: str
    hole: int
    line: Line
    tally: LineTally | None
    mark: str


Render = Callable[[SharedLine], JsonObject]
"""Makes the message's body."""


class ShareMessages:
    """Wants shared shots in the channel, and wants them anew when something changes."""

    def __init__(self, *, service: ShareService, outbox: Outbox, render: Render) -> None:
        self.service = service
        self.outbox = outbox
        self._render = render

    async def post(self, community_id: int, event: str, hole: int, line: Line) -> Message | None:
        """Want a shared line in the notes channel; its message as the outbox knows it."""
        channel_id = await self._channel(community_id, line)
        key = share_key(EventKey.of(event).hole(hole).line(line.variant))
        known = await self.outbox.get(community_id, key)
        # Whoever heard of the new line may have been quicker, and have been refused already.
        if channel_id is not None and (known is None or known.state == "unmade"):
            body = await self._body(community_id, event, hole, line)
            await self.outbox.want(community_id, key, channel_id, body)
        return await self.outbox.get(community_id, key)

    async def _channel(self, community_id: int, line: Line) -> int | None:
        roles = self.service.roles
        notes = await roles.notes_channel(community_id)
        return (await roles.approval_channel(community_id)) or notes if line.waiting else notes

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
        except StorageError:
            raise  # it stays marked, and is looked at again
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
        if line.status == "retired":
            return await self.outbox.withdraw(community_id, key)
        body = await self._body(community_id, event.name, number, line)
        channel_id = known.channel_id
        if not line.waiting and channel_id == await self.service.roles.approval_channel(
            community_id
        ):
            channel_id = await self.service.roles.notes_channel(community_id) or channel_id
        return await self.outbox.want(community_id, key, channel_id, body)

    async def _body(self, community_id: int, event: str, hole: int, line: Line) -> JsonObject:
        key = EventKey.of(event).hole(hole).line(line.variant)
        tallies = await self.service.results.tallies.of_holes(community_id, [str(key.hole)])
        tally = next((each for each in tallies if each.line_key == str(key)), None)
        mark = (await self.service.results.kits.caddie(community_id)).kit.mark.name
        return self._render(SharedLine(event, hole, line, tally, mark))
