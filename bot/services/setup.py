"""What a community sets up once, and how far it is. Knows no Discord."""

from dataclasses import dataclass

from bot.services.book.book import Book
from bot.services.division_roles import DivisionRoles
from bot.services.roles import Roles
from shared.errors import InputError

COACH, NOTES, AUDIT, DIVISIONS, DONE = "coach", "notes", "audit", "divisions", "done"
STEPS = (COACH, NOTES, AUDIT, DIVISIONS, DONE)


@dataclass(frozen=True)
class SetUp:
    """What is set: the coaches' role, channels, and each division's role; None where it is not."""

    coach_role: int | None
    notes: int | None
    audit: int | None
    event: str | None
    divisions: tuple[tuple[str, int | None], ...]

    @property
    def next_step(self) -> str:
        """The first step that has to be done and is not."""
        if self.coach_role is None and self.notes is None:
            return COACH
        return NOTES if self.notes is None else DONE


class SetupService:
    """Sets one thing after the other."""

    def __init__(self, roles: Roles, division_roles: DivisionRoles, book: Book) -> None:
        self._roles = roles
        self._division_roles = division_roles
        self._book = book

    async def now(self, community_id: int) -> SetUp:
        """How far it is."""
        event, divisions = None, ()
        try:
            found, _ = await self._book.current(community_id)
            event, divisions = found.name, found.divisions
        except InputError:
            pass
        by_role = {
            name.casefold(): role
            for name, role in (await self._division_roles.of(community_id)).items()
        }
        return SetUp(
            coach_role=await self._roles.coach_role(community_id),
            notes=await self._roles.notes_channel(community_id),
            audit=await self._roles.audit_channel(community_id),
            event=event,
            divisions=tuple((name, by_role.get(name.casefold())) for name in divisions),
        )

    async def set(self, community_id: int, what: str, picked: int | None, place: int = 0) -> SetUp:
        """Set one thing, None: no more; of divisions the one at ``place``."""
        if what == COACH:
            await self._roles.set_coach_role(community_id, picked)
        elif what == NOTES and picked is not None:
            await self._roles.set_notes_channel(community_id, picked)
        elif what == AUDIT:
            await self._roles.set_audit_channel(community_id, picked)
        elif what == DIVISIONS:
            divisions = (await self.now(community_id)).divisions
            if place < len(divisions):
                await self._division_roles.set(community_id, divisions[place][0], picked)
        return await self.now(community_id)
