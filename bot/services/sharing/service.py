"""Sharing a shot: it becomes an idea of the book and stands in the notes channel. No Discord."""

import asyncio
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import Connection

from bot.services.book.book import Book
from bot.services.book.drafts import DraftReader, LineDraft, new_token
from bot.services.book.shot_rows import format_rows
from bot.services.book.stored import KeptLine
from bot.services.caddie.adapt import AdaptedShot, Case, adapt, read_line, read_wind
from bot.services.caddie.caddie import Caddie
from bot.services.results.outcome import Outcome, read_outcome
from bot.services.results.service import ResultService, Told, Try, line_of
from bot.services.roles import Roles
from engine.reach import Verdict
from shared.actor import Actor
from shared.bag import Bag
from shared.book import Hole, Line, LineShot, Worked
from shared.errors import EngineError, InputError
from shared.keys import LineKey
from shared.kit import Kit
from shared.quantities import Wind
from shared.shot_text import format_shot
from shared.shot_text.write import example_shot, example_wind_text
from shared.units import UnitSystem
from shared.wording import error_sentence, wind_words
from storage.stale import want_share

REMEMBERED = 200  # interactions, so that one delivered twice shares once


@dataclass(frozen=True)
class Share:
    """What a member shares: a line of the book, or own shots (one a row, or parted by ;)."""

    event: str
    hole: int
    variant: str = ""
    shots: str = ""
    wind: str | Wind = ""
    outcome: str = ""
    remark: str = ""


BEYOND = "By the numbers"  # what a note begins with that says a bag can't do the shot


@dataclass(frozen=True)
class Shared:
    """The new idea, and the author's own result where they told one."""

    event: str
    line: KeptLine
    told: Told | None


@dataclass(frozen=True)
class Waited:
    """A share that a coach decided on, and who shared it (None: forgotten)."""

    event: str
    line: KeptLine
    author_id: int | None


class ShareService:
    """Puts shared shots into the book, and takes them back or on."""

    def __init__(self, *, book: Book, results: ResultService, roles: Roles) -> None:
        self.book = book
        self.results = results
        self.roles = roles
        self._lock = asyncio.Lock()
        self._seen: OrderedDict[int, Shared] = OrderedDict()

    async def share(self, who: Actor, share: Share, *, interaction_id: int) -> Shared:
        """Keep an idea under its author's name; the same interaction shares once.

        Errors: InputError, ShotTextError for what can't be read, or no notes channel.
        """
        async with self._lock:
            if interaction_id not in self._seen:
                self._seen[interaction_id] = await self._share(who, share, interaction_id)
                while len(self._seen) > REMEMBERED:
                    self._seen.popitem(last=False)
            return self._seen[interaction_id]

    async def take_back(self, who: Actor, event: str, hole: int, variant: str) -> None:
        """Retire a shared line; its results stay. Errors: InputError unless it is one's own."""
        first = (await self.book.lines.history(who.community_id, hole, variant, event))[-1]
        now = await self.book.lines.get(who.community_id, hole, variant, event)
        taken_in = now.line is not None and now.line.shared_as is not None
        if not taken_in and first.author_id != who.member_id:
            raise InputError("Only who shared it can take it back.", "/share hole:1")
        if now.line is not None and (taken_in or now.line.status == "recommended"):
            raise InputError(
                "A coach has taken this line in since; only a coach retires it.",
                f"/line retire hole:{hole} line:{variant}",
            )
        await self.book.lines.set_status(
            who.community_id, hole, variant, "retired", author=who.author, event=event
        )

    async def make_line(self, who: Actor, event: str, hole: int, variant: str) -> KeptLine:
        """Make a shared idea a tested line."""
        return await self.book.lines.set_status(
            who.community_id, hole, variant, "tested", author=who.author, event=event
        )

    async def approve(self, who: Actor, event: str, hole: int, variant: str) -> Waited:
        """Let a waiting share be posted. Errors: InputError where it waits no more."""
        return await self._decided(who, event, hole, variant, {"waiting": False}, "approved")

    async def decline(self, who: Actor, event: str, hole: int, variant: str) -> Waited:
        """Retire a waiting share; what was logged on it stays."""
        update = {"waiting": False, "status": "retired"}
        return await self._decided(who, event, hole, variant, update, "declined")

    async def _decided(
        self,
        who: Actor,
        event: str,
        hole: int,
        variant: str,
        update: Mapping[str, object],
        reason: str,
    ) -> Waited:
        kept = await self.book.lines.get(who.community_id, hole, variant, event)
        if kept.line is None or not kept.line.waiting:
            raise InputError("This share waits no more: a coach has decided, or its author.", "")
        first = (await self.book.lines.history(who.community_id, hole, variant, event))[-1]
        saved = await self.book.lines.save(
            who.community_id,
            hole,
            kept.line.model_copy(update=update),
            author=who.author,
            based_on=kept.revision,
            reason=reason,
            event=event,
        )
        return Waited(event, saved, first.author_id)

    async def _share(self, who: Actor, share: Share, interaction_id: int) -> Shared:
        channel_id = await self.roles.notes_channel(who.community_id)
        if channel_id is None:
            raise InputError(
                "There is no notes channel yet; a coach names one.", "/setup notes:#hole-notes"
            )
        waits_in = await self.roles.approval_channel(who.community_id)
        hole = await self.book.hole(who.community_id, share.hole, share.event)
        line = await self._line(who, hole, share)
        if waits_in is not None:
            line, channel_id = line.model_copy(update={"waiting": True}), waits_in
        now = self.book.now()

        def posted(connection: Connection, key: LineKey) -> None:
            want_share(connection, who.community_id, key, channel_id, at=now)

        kept = await self.book.lines.add(
            who.community_id,
            share.hole,
            line,
            author=who.author,
            event=share.event,
            shared=True,
            also=posted,
        )
        told = None
        if share.outcome.strip():
            played = Try(share.event, share.hole, kept.variant, line.wind)
            told = await self.results.log(who, played, share.outcome, interaction_id=interaction_id)
        return Shared(share.event, kept, told)

    async def _line(self, who: Actor, hole: Hole, share: Share) -> Line:
        """The shared shots as an idea. Errors: InputError for what can't be read."""
        caddie = await self.results.kits.caddie(who.community_id)
        bag = await self.results.bags.get(who.community_id, who.member_id)
        came: Outcome | None = None
        if share.outcome.strip():
            came = read_outcome(share.outcome, units=bag.units, mark=caddie.kit.mark.name)
        example = share_example(caddie.kit, hole, bag.units)
        wind = share.wind or await self.results.wind(who, share.event, hole)
        if not wind:
            raise InputError("Say in which wind it was; this hole's isn't known.", example)
        text = wind_words(wind, bag.units) if isinstance(wind, Wind) else wind
        shots = share.shots.replace(";", "\n")
        if not shots.strip():
            if not share.variant:
                raise InputError("Say which line you played, or your own shot.", example)
            own = line_of(hole, share.variant)
            blew = read_wind(
                text=text, kit=caddie.kit, bearing_deg=hole.bearing_deg, units=bag.units
            )
            moved = await asyncio.to_thread(moved_line, caddie, hole, own, bag, blew)
            shots = format_rows(_worked(moved, came), mark=caddie.kit.mark.name)
        draft = LineDraft(
            token=new_token(),
            event=share.event,
            hole=hole.number,
            author=who.name,
            wind=text,
            rows=shots,
            notes=_notes(share, came),
        )
        reader = DraftReader(kit=caddie.kit, bearing_deg=hole.bearing_deg, bag=bag)
        line = await asyncio.to_thread(reader.line, draft)
        beyond = await asyncio.to_thread(beyond_bag, caddie, hole, line, bag)
        if not beyond:
            return line
        notes = "\n".join([part for part in (line.notes, *beyond) if part])
        return line.model_copy(update={"notes": notes})


def share_example(kit: Kit, hole: Hole, units: UnitSystem) -> str:
    """A command that shares a shot of this kit."""
    shot = example_shot(kit, units)
    words = format_shot(shot.model_copy(update={"wind": None}))
    return f"/share hole:{hole.number} shot:{words} wind:{example_wind_text(units)}"


def doubts_of(line: Line) -> list[str]:
    """What a shared line's notes say against it by the numbers."""
    return [row for row in line.notes.split("\n") if row.startswith(BEYOND)]


def beyond_bag(caddie: Caddie, hole: Hole, line: Line, bag: Bag) -> list[str]:
    """What the numbers say against a line's shots with this bag, a sentence a shot."""
    said: list[str] = []
    read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
    for number, each in enumerate(read.shots, start=1):
        try:
            caddie.answer(shot=each.shot, bag=bag)
        except (EngineError, InputError) as error:
            sentence = error_sentence(error, bag.units).partition(";")[0].rstrip(".")
            said.append(f"{BEYOND} shot {number} can't be: {sentence}.")
    return said


def moved_line(
    caddie: Caddie, hole: Hole, line: Line, bag: Bag, wind: Wind
) -> list[tuple[AdaptedShot, LineShot]]:
    """A line's shots as a member hits them: their grades, their ball, their wind."""
    read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
    adapted = adapt(caddie=caddie, cases=[Case(read, bag, wind)])[0]
    rows: list[tuple[AdaptedShot, LineShot]] = []
    for shot, written in zip(adapted.shots, line.shots, strict=True):
        ball = shot.choice.ball if shot.choice.ball != caddie.kit.ball(None).name else None
        own = shot.shot.model_copy(update={"grade": shot.choice.grade, "ball": ball, "wind": None})
        update = {"shot": format_shot(own), "worked": None, "note": ""}
        rows.append((shot, written.model_copy(update=update)))
    return rows


def _worked(rows: list[tuple[AdaptedShot, LineShot]], came: Outcome | None) -> tuple[LineShot, ...]:
    """The shots, with the aim that worked where it went in."""
    if came is None or not came.holed:
        return tuple(shot for _, shot in rows)
    return tuple(
        shot.model_copy(
            update={
                "worked": Worked(
                    right=round(moved.allowance.right_marks, 1),
                    long=round(moved.allowance.long_marks, 1),
                )
            }
        )
        if moved.fit == Verdict.FINE
        else shot
        for moved, shot in rows
    )


def _is_told(came: Outcome) -> bool:
    return came.known or came.side is not None or came.ended is not None


def _notes(share: Share, came: Outcome | None) -> str:
    """What the author says of it: the result first."""
    said: list[str] = []
    if came is not None and came.holed and came.several is None:
        said.append("It went in.")
    elif came is not None and came.several is not None:
        said.append(f"{came.several[0]} tries, {came.several[1]} in.")
    elif came is not None:
        how = " ".join(share.outcome.split())
        said.append(f"It missed: {how}." if _is_told(came) else "It missed.")
    if share.remark.strip():
        said.append(share.remark.strip())
    return "\n".join(said)
