"""The publisher: brings what waits in the outbox to its channel.

A community's messages are brought in order, one at a time; communities side by side, so that one
whom Discord lets wait holds up no other.

A body is JSON: ``embeds`` (as Discord takes them) or a ``text``, and ``buttons``, each with
``label``, ``custom_id`` and ``style``. Buttons work by their custom id alone, so they outlive
restarts. Pictures are drawn from the body when it is posted, by whatever function the publisher is
given; where one can't be drawn or attached, the words go alone.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Any

import discord

from bot.chat.message import fit, picture_file, view_of
from bot.chat.permissions import POST, lacking_in
from shared import limits
from shared.book import BookChange
from shared.keys import EventKey, hole_told
from shared.picture import Picture
from shared.text import clipped
from storage.json import JsonObject
from storage.outbox import Message, Outbox
from storage.stale import Stale, StaleMessages

log = logging.getLogger(__name__)

BATCH = 10
GOODBYE_S = 5.0  # for the message under way when Leeward is told to stop
LATER = "Discord did not take it, and Leeward tries again by itself"
Source = Callable[[BookChange], Awaitable[bool]]
"""Wants its changed messages anew; True where one reads otherwise."""
NameOf = Callable[[int, EventKey], Awaitable[str | None]]  # a community's event, by its key
Draw = Callable[[JsonObject], Awaitable[list[Picture]]]  # a stored body's pictures
NEVER = (400, 405, 413)  # the message itself is wrong: the same one would be refused again
ARCHIVED = 50083  # Discord's code for a thread that rests
UNTITLED = "Notes"
QUIET = discord.AllowedMentions.none()


class Publisher:
    """Posts, edits and deletes our own messages."""

    def __init__(
        self,
        *,
        client: discord.Client,
        outbox: Outbox,
        stale: StaleMessages,
        draw: Draw,
        name_of: NameOf,
    ) -> None:
        self._client = client
        self._pictures_of = draw
        self._outbox = outbox
        self._stale = stale
        self._name_of = name_of
        self._claiming = asyncio.Lock()
        self._lanes: dict[int, asyncio.Task[int]] = {}  # what is brought now, by community
        self._stopping = False
        self._sources: list[Source] = []

    def add_source(self, source: Source) -> None:
        """Have ``source`` asked for its messages anew whenever the book changes."""
        self._sources.append(source)

    async def refresh(self, change: BookChange) -> None:
        """Have messages that read otherwise now wanted anew, and bring them."""
        event = EventKey.of(change.event)
        holes = [event.hole(number) for number in sorted(change.holes)]
        marked = await self._stale.of_holes(change.community_id, holes)
        fresh = [await source(change) for source in self._sources]
        await self._stale.made(marked)
        if any(fresh):
            await self.deliver(change.community_id)

    async def catch_up(self) -> None:
        """Make anew what a stop or a failure left marked, and bring all that waits."""
        while not self._stopping and (marked := await self._stale.some()):
            for change in await self._changes(marked):
                for source in self._sources:
                    await source(change)
            await self._stale.made(marked)
        await self.deliver()

    async def _changes(self, marked: list[Stale]) -> list[BookChange]:
        """The holes that marked messages are about, an event each."""
        holes: dict[tuple[int, EventKey], set[int]] = {}
        for each in marked:
            hole = hole_told(each.key)
            if hole is not None:
                holes.setdefault((each.community_id, hole.event), set()).add(hole.number)
        named = [
            (community_id, await self._name_of(community_id, event), frozenset(numbers))
            for (community_id, event), numbers in holes.items()
        ]
        return [
            BookChange(community_id, name, numbers) for community_id, name, numbers in named if name
        ]

    async def deliver(self, community_id: int | None = None) -> int:
        """Bring everything that waits to its channel, of one community or of all; returns when it
        is there, with the number of messages that this call took up."""
        begun: list[asyncio.Task[int]] = []
        while True:
            async with self._claiming:
                begun += await self._begin(community_id)
            under_way = [lane for each, lane in self._lanes.items() if community_id in (None, each)]
            if not under_way:
                break
            await asyncio.wait(under_way, return_when=asyncio.FIRST_COMPLETED)
        handled = await asyncio.gather(*begun, return_exceptions=True)
        for failure in handled:
            if isinstance(failure, BaseException):
                raise failure
        return sum(each for each in handled if isinstance(each, int))

    async def _begin(self, community_id: int | None) -> list[asyncio.Task[int]]:
        """Take up what waits of communities that nothing is brought to now."""
        if self._stopping:
            return []
        waiting = await self._outbox.claim(
            limit=BATCH, community_id=community_id, but_for=list(self._lanes)
        )
        of_each: dict[int, list[Message]] = {}
        for message in waiting:
            of_each.setdefault(message.community_id, []).append(message)
        for each, messages in of_each.items():
            self._lanes[each] = asyncio.create_task(self._bring_all(messages))
            self._lanes[each].add_done_callback(lambda _, each=each: self._lanes.pop(each))
        return [self._lanes[each] for each in of_each]

    async def stop(self) -> None:
        """Bring no more; returns when what is under way is done, or takes too long."""
        self._stopping = True
        with suppress(TimeoutError):
            async with asyncio.timeout(GOODBYE_S):
                async with self._claiming:
                    lanes = list(self._lanes.values())
                if lanes:
                    await asyncio.wait(lanes)

    async def _bring_all(self, waiting: list[Message]) -> int:
        for handled, message in enumerate(waiting):
            if self._stopping:
                await self._outbox.give_back(waiting[handled:])
                return handled
            await self._bring(message)
        return len(waiting)

    async def _bring(self, message: Message) -> None:
        try:
            await self._send(message)
        except discord.Forbidden:
            await self._outbox.failed(message, await self._missing(message.channel_id))
        except discord.NotFound:
            await self._outbox.failed(message, "the channel is gone")
        except (discord.HTTPException, discord.RateLimited, OSError) as error:
            log.warning("message %s could not be brought: %s", message.key, error)
            if isinstance(error, discord.HTTPException) and error.status in NEVER:
                await self._outbox.failed(message, f"Discord refused it: {error.text[:200]}")
            else:
                await self._outbox.put_off(message, LATER, at_least_s=asked_to_wait_s(error))
        except RuntimeError:
            if not self._client.is_closed():
                raise
            await self._outbox.give_back([message])  # for the next start

    async def _send(self, message: Message) -> None:
        if message.body is None:
            await self._delete(self._place_of(message, message.message_id), message)
            return
        embeds, view = parts_of(message.body)
        files = await self._draw(message, embeds)
        known = message.message_id or await self._left_behind(message, message.body)
        if known is None:
            sent = await self._post(message, embeds, files, view)
            if not await self._outbox.posted(message, sent.id):
                await sent.delete()
            return
        try:
            channel = self._place_of(message, known)
            await self._edit(channel.get_partial_message(known), embeds, files, view)
        except discord.NotFound:  # somebody deleted it: post anew only what is asked for anew
            if message.insists:
                await self._outbox.lost(message)
            else:
                await self._outbox.gone(known)
            return
        await self._outbox.posted(message, known)

    def _place_of(self, message: Message, known: int | None) -> discord.PartialMessageable:
        """Where a message stands; in a forum that is its own post, whose id is the message's."""
        forum = isinstance(self._client.get_channel(message.channel_id), discord.ForumChannel)
        post = known if forum else None
        return self._client.get_partial_messageable(post or message.channel_id)

    async def _left_behind(self, message: Message, body: JsonObject) -> int | None:
        """The forum post that an earlier try made and nobody wrote down: a forum takes no nonce.

        It is known by its buttons, which say what they are about whatever the text says by now.
        """
        forum = self._client.get_channel(message.channel_id)
        if message.claim < 2 or not isinstance(forum, discord.ForumChannel):
            return None
        stored: dict[str, Any] = dict(body)
        wanted = {each["custom_id"] for each in stored.get("buttons", [])}
        for thread in await forum.guild.active_threads():
            if thread.parent_id != forum.id or thread.owner_id != forum.guild.me.id:
                continue
            if await self._outbox.by_message(thread.id) is None:
                with suppress(discord.NotFound, discord.Forbidden):
                    post = await thread.fetch_message(thread.id)
                    if wanted & buttons_of(post):
                        return thread.id
        return None

    async def _post(
        self,
        message: Message,
        embeds: list[discord.Embed],
        files: list[discord.File],
        view: discord.ui.View,
    ) -> discord.Message:
        forum = self._client.get_channel(message.channel_id)
        if isinstance(forum, discord.ForumChannel):
            made = await forum.create_thread(
                name=clipped(embeds[0].title or UNTITLED, limits.THREAD) if embeds else UNTITLED,
                embeds=embeds,
                files=files,
                view=view,
                allowed_mentions=QUIET,
            )
            return made.message
        channel = self._client.get_partial_messageable(message.channel_id)
        return await channel.send(
            embeds=embeds, files=files, view=view, allowed_mentions=QUIET, nonce=message.nonce
        )

    async def _edit(
        self,
        known: discord.PartialMessage,
        embeds: list[discord.Embed],
        files: list[discord.File],
        view: discord.ui.View,
    ) -> None:
        # Without a picture of our own, one that a member shared stays with the message.
        pictures = files or discord.utils.MISSING
        new: Any = {
            "embeds": embeds,
            "attachments": pictures,
            "view": view,
            "allowed_mentions": QUIET,
        }
        try:
            await known.edit(**new)
        except discord.HTTPException as error:
            if error.code != ARCHIVED:
                raise
            thread = await self._client.fetch_channel(known.channel.id)
            assert isinstance(thread, discord.Thread)
            await thread.edit(archived=False)
            await known.edit(**new)

    async def _draw(self, message: Message, embeds: list[discord.Embed]) -> list[discord.File]:
        """The body's pictures, each put into an embed; none where they can't be had."""
        channel = self._client.get_channel(message.channel_id)
        if not isinstance(channel, discord.abc.GuildChannel | discord.Thread):
            return []
        if not embeds or not channel.permissions_for(channel.guild.me).attach_files:
            return []
        try:
            pictures = await self._pictures_of(message.body or {})
        except Exception:  # whatever a picture lacks, the words must be posted
            log.exception("the pictures of %s could not be drawn", message.key)
            return []
        files: list[discord.File] = []
        for count, picture in enumerate(pictures):
            file = picture_file(picture, f"bars{count + 1}.png")
            if count:
                embeds.append(discord.Embed(colour=embeds[0].colour))
            embeds[-1].set_image(url=f"attachment://{file.filename}")
            files.append(file)
        return files

    async def _delete(self, channel: discord.PartialMessageable, message: Message) -> None:
        if message.message_id is not None:
            try:
                await channel.get_partial_message(message.message_id).delete()
            except discord.NotFound:
                log.debug("message %s was gone already", message.key)
        await self._outbox.deleted(message)

    async def _missing(self, channel_id: int) -> str:
        """What to grant, in words."""
        channel = self._client.get_channel(channel_id)
        if not isinstance(channel, discord.abc.GuildChannel | discord.Thread):
            return "the bot can't see the channel"
        lacking = lacking_in(channel, POST)
        return f"the bot lacks: {', '.join(lacking)}" if lacking else "Discord forbids it"


def buttons_of(message: discord.Message) -> set[str | None]:
    """The custom ids of a message's buttons."""
    rows = [row for row in message.components if isinstance(row, discord.ActionRow)]
    return {part.custom_id for row in rows for part in row.children}


def asked_to_wait_s(error: Exception) -> float:
    """How long Discord asked to be left alone, 0 where it did not."""
    if isinstance(error, discord.RateLimited):
        return error.retry_after
    response = getattr(error, "response", None)
    given = response.headers.get("Retry-After", "") if response is not None else ""
    try:
        return max(0.0, float(given))
    except ValueError:
        return 0.0


def parts_of(body: JsonObject) -> tuple[list[discord.Embed], discord.ui.View]:
    """A stored body as embeds and a view without a timeout."""
    stored: dict[str, Any] = dict(body)
    embeds = [discord.Embed.from_dict(each) for each in stored.get("embeds", [])]
    if "text" in stored:
        embeds.append(discord.Embed(description=str(stored["text"])))
    return embeds, view_of(stored.get("buttons", []))


def body_of(*embeds: discord.Embed, buttons: list[dict[str, str]]) -> JsonObject:
    """Embeds and buttons as a body to be stored."""
    body = {"embeds": [dict(embed.to_dict()) for embed in fit(embeds)], "buttons": list(buttons)}
    return body  # type: ignore[return-value]
