"""A community's own game: loaded, looked at, kept, taken back. Knows no Discord."""

import asyncio
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from bot.services.book.book import Book
from bot.services.book.drafts import new_token
from bot.services.caddie.adapt import read_line
from bot.services.caddie.rack import build_rack
from bot.services.kits.changes import kit_changes, lacking
from bot.services.kits.kept import (
    DEFAULT,
    OWN_KEY,
    WHOLE_KIT,
    KitRepository,
    kept_charts,
    kit_of,
    own_kit,
)
from bot.services.kits.toml_out import kit_toml
from bot.services.members import BagCache, Caddies
from shared.actor import Actor
from shared.book import Event, Line
from shared.errors import EngineError, InputError, LeewardError
from shared.kit import Club, Kit
from shared.kit_file import kit_examples, read_kit
from shared.model import Model
from shared.toml_file import MAX_BYTES, FileProblem, FileProblemsError, decode
from shared.toml_lines import Lines
from storage.bags import bags_of
from storage.database import Database
from storage.drafts import Drafts as KeptDrafts
from storage.drafts import drop_draft
from storage.revisions import Draft, Revision, Revisions, append_revision, latest_revision

MOST_WAYS = 2_000  # club, grade and ball together; solving them takes a fifth of a second
SHOWN_REVISIONS = 10
EXAMPLE = "/kit load file:my-game.toml"


class KitDraft(Model):
    """A kit that waits to be kept; ``newest`` is the revision it was compared with, 0 for none."""

    token: str
    kit: Kit
    newest: int


@dataclass(frozen=True)
class KitPreview:
    """What a loaded kit changes: in itself, and for the cup's lines and the members' bags."""

    draft: KitDraft
    before: Kit
    own_before: bool
    changes: list[str]
    lost_lines: list[str]
    lost_bags: int
    charts: list[str]


@dataclass(frozen=True)
class KitState:
    """A kept state of a community's kit: ``kit`` None is the operator's; what it changed."""

    number: int
    kit: Kit | None
    author: str
    reason: str
    at: datetime | None
    changes: list[str]


@dataclass(frozen=True)
class Changed:
    """A change that was kept: the kit now in force, the revision and the one before it."""

    kit: Kit
    own: bool
    number: int
    before: int


class KitService:
    """The kits of communities, for their coaches."""

    def __init__(
        self,
        *,
        db: Database,
        kits: Caddies,
        kept: KitRepository,
        bags: BagCache,
        book: Book,
        drafts: KeptDrafts,
    ) -> None:
        self._db = db
        self._kits = kits
        self._kept = kept
        self._bags = bags
        self._book = book
        self._drafts = drafts
        self._revisions = Revisions(db)

    async def load(self, coach: Actor, data: bytes, *, file: str) -> KitPreview:
        """Read a file and say what it would change; nothing is kept but the draft.

        Errors: FileProblemsError with every problem, its line and field.
        """
        like = (await self._kits.caddie(coach.community_id)).kit
        kit = await asyncio.to_thread(_read, data, file, like)

        def fn(connection: Connection) -> tuple[int, Kit | None, list[str], int]:
            here = coach.community_id
            newest = latest_revision(connection, here, WHOLE_KIT, OWN_KEY)
            bags = [each for each in bags_of(connection, here) if lacking(each, kit)]
            charts = list(kept_charts(connection, here).now)
            number = newest.number if newest else 0
            return number, own_kit(connection, here), charts, len(bags)

        number, own, charts, lost_bags = await self._db.read(fn)
        before = own or self._kits.first
        draft = KitDraft(token=new_token(), kit=kit, newest=number)
        body = draft.model_dump(mode="json")
        await self._drafts.put(coach.community_id, coach.member_id, draft.token, body)
        units = (await self._bags.get(coach.community_id, coach.member_id)).units
        return KitPreview(
            draft=draft,
            before=before,
            own_before=own is not None,
            changes=kit_changes(before, kit, units),
            lost_lines=await self._lost_lines(coach.community_id, before, kit),
            lost_bags=lost_bags,
            charts=charts,
        )

    async def save(self, coach: Actor, token: str) -> Changed:
        """Have the community play a kit that waits.

        Errors: InputError where it waits no more, or where the kit has changed meanwhile.
        """
        stored = await self._drafts.get(coach.community_id, coach.member_id, token)
        if stored is None:
            raise InputError("This kit waits no more: it was saved or given up.", EXAMPLE)
        draft = KitDraft.model_validate(stored)
        body, here = draft.kit.model_dump_json(), coach.community_id
        changed = await self._keep(coach, body, "loaded", seen=draft.newest)
        await self._db.write(lambda c: drop_draft(c, here, coach.member_id, token))
        return changed

    async def give_up(self, coach: Actor, token: str) -> bool:
        """Forget a kit that waits; False where it waited no more."""
        return await self._drafts.drop(coach.community_id, coach.member_id, token)

    async def bring_back(self, coach: Actor, number: int, *, seen: int) -> Changed:
        """Play an earlier state again, 0 for the operator's kit. Errors: InputError."""
        body = DEFAULT
        if number:
            found = await self._history(coach.community_id, limit=seen)
            bodies = [each.body for each in found if each.number == number]
            if not bodies:
                raise InputError("There is no such revision of the kit.", "/kit history")
            body = bodies[0]
        reason = f"brought back revision {number}" if number else "back to the operator's kit"
        return await self._keep(coach, body, reason, seen=seen)

    async def history(self, coach: Actor) -> list[KitState]:
        """What the community played, the newest first, and what each change was."""
        found = await self._history(coach.community_id, limit=SHOWN_REVISIONS + 1)
        units = (await self._bags.get(coach.community_id, coach.member_id)).units
        kits = [kit_of(each) for each in found]
        states: list[KitState] = []
        for place, (each, kit) in enumerate(zip(found, kits, strict=True)):
            earlier = kits[place + 1] if place + 1 < len(kits) else None
            first = self._kits.first
            changes = kit_changes(earlier or first, kit or first, units)
            author, at = each.author_name or "somebody who left", each.created_at
            states.append(KitState(each.number, kit, author, each.reason, at, changes))
        return states[:SHOWN_REVISIONS]

    async def export(self, community_id: int, *, charts: bool) -> tuple[str, bytes]:
        """The file of the kit in force: its name and bytes; ``charts``: with what was measured."""

        def fn(connection: Connection) -> Kit:
            kit = own_kit(connection, community_id) or self._kits.first
            return kept_charts(connection, community_id).over(kit) if charts else kit

        kit = await self._db.read(fn)
        slug = "-".join("".join(c if c.isalnum() else " " for c in kit.name).lower().split())
        text = await asyncio.to_thread(kit_toml, kit)
        return f"{slug or 'kit'}.toml", text.encode()

    async def has_own(self, community_id: int) -> bool:
        """Whether a community plays a kit of its own."""
        return await self._db.read(lambda c: own_kit(c, community_id)) is not None

    async def _history(self, community_id: int, limit: int) -> list[Revision]:
        return await self._revisions.history(community_id, WHOLE_KIT, OWN_KEY, limit=limit)

    async def _keep(self, coach: Actor, body: str, reason: str, *, seen: int) -> Changed:
        now, here = self._db.now(), coach.community_id

        def fn(connection: Connection) -> int | None:
            newest = latest_revision(connection, here, WHOLE_KIT, OWN_KEY)
            if (newest.number if newest else 0) != seen:
                return None
            draft = Draft(WHOLE_KIT, OWN_KEY, body)
            kept = append_revision(
                connection, here, draft, author=coach.author, reason=reason, at=now
            )
            return kept.number

        number = await self._db.write(fn)
        if number is None:
            raise InputError(
                "The kit has changed since you looked; nothing was kept.", "/kit history"
            )
        first = self._kits.first
        await self._kits.change_kit(here, await self._kept.get(here, first) or first)
        kit = (await self._kits.caddie(here)).kit
        return Changed(kit, body != DEFAULT, number, seen)

    async def _lost_lines(self, community_id: int, old: Kit, new: Kit) -> list[str]:
        """Lines of the current event that can be read with one kit and not with the other."""
        try:
            event, _ = await self._book.current(community_id)
        except InputError:
            return []
        return await asyncio.to_thread(_lost, event, old, new)


def require_kit_size(size: int, file: str) -> None:
    """Refuse a file by its size alone, before a byte of it is fetched. Errors: InputError."""
    if size > MAX_BYTES:
        raise InputError(f"{file} has {size:,} bytes; a kit has at most {MAX_BYTES:,}.", EXAMPLE)


def _read(data: bytes, file: str, like: Kit) -> Kit:
    text = decode(data, file)
    kit = read_kit(text, file=file, like=like)
    ways = len(kit.balls) * sum(len(club.grades) for club in kit.clubs)
    if ways > MOST_WAYS:
        sentence = (
            f"Grades times balls make {ways:,}, and a kit may have {MOST_WAYS:,}: leave out "
            "what nobody owns"
        )
        raise _problem(text, file, ("clubs",), "clubs", sentence, like)
    try:
        build_rack(kit)
    except EngineError as error:
        raise _unflyable(text, file, kit, like) from error
    return kit


def _unflyable(text: str, file: str, kit: Kit, like: Kit) -> FileProblemsError:
    """The first grade whose full carry no swing of its club has."""
    for place, club in enumerate(kit.clubs):
        if _flies(kit, club):
            continue
        for at, grade in enumerate(club.grades):
            if not _flies(kit, club.model_copy(update={"grades": (grade,)})):
                path = ("clubs", place, "grades", at, "full_yd")
                field = f"clubs[{club.name}].grades[{grade.name}].full_yd"
                sentence = f"No swing of the {club.name} carries {grade.full_yd:g} yards"
                return _problem(text, file, path, field, sentence, like)
    return _problem(text, file, ("clubs",), "clubs", "These clubs can't be computed", like)


def _flies(kit: Kit, club: Club) -> bool:
    try:
        build_rack(kit.model_copy(update={"clubs": (club,)}))
    except EngineError:
        return False
    return True


def _problem(
    text: str, file: str, path: tuple[str | int, ...], field: str, sentence: str, like: Kit
) -> FileProblemsError:
    line = Lines(text).line(path)
    return FileProblemsError(
        sentence=f"{sentence}.",
        example=kit_examples(like)["grades"],
        file=file,
        line=line,
        field=field,
        problems=(FileProblem(line, field, f"{sentence}."),),
    )


def _lost(event: Event, old: Kit, new: Kit) -> list[str]:
    return [
        f"{hole.number}{line.variant}"
        for hole in event.holes
        for line in hole.in_use
        if _readable(line, old, hole.bearing_deg) and not _readable(line, new, hole.bearing_deg)
    ]


def _readable(line: Line, kit: Kit, bearing_deg: float | None) -> bool:
    try:
        read_line(line=line, kit=kit, bearing_deg=bearing_deg)
    except LeewardError:
        return False
    return True
