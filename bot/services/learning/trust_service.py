"""What is known of a club, and what a coach decides about it. No Discord."""

import asyncio
from collections.abc import AsyncIterator, Sequence

from sqlalchemy import Connection

from bot.services.caddie.believed import grade_keys
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.hits import HITS, RUNS
from bot.services.kits.names import club_name
from bot.services.learning.decisions import Decisions, Effect, held_at
from bot.services.learning.full_pass import aside
from bot.services.learning.learner import SCOPE, SCOPE_BEFORE, Learner
from bot.services.learning.report import ClubReport, club_report
from bot.services.members import Caddies
from shared.actor import Author
from shared.errors import InputError
from storage.database import Database
from storage.decisions import freeze_club, release_club
from storage.played import Result
from storage.results import Results
from storage.reweigh import Reweighed, reweigh_results, standing_ids

PAGE = 1000
LOOKED_AT = 400  # of a club's results: enough for a change of the game to be seen
LEAST_REASON = 3


class TrustService:
    """Reports on clubs, and a coach's decisions; every decision is logged with its reason."""

    def __init__(
        self, *, db: Database, kits: Caddies, learner: Learner, decisions: Decisions
    ) -> None:
        self._db = db
        self._results = Results(db)
        self.kits = kits
        self.learner = learner
        self.decisions = decisions

    async def report(self, community_id: int, typed: str) -> ClubReport:
        """What is known of a club; single shots are among its last 400.

        Errors: InputError for a club the kit lacks."""
        caddie = await self.kits.caddie(community_id)
        club = club_name(caddie.kit, typed)
        posterior = await self.learner.posterior(community_id)
        results = await self._results.last_of_club(community_id, club, limit=LOOKED_AT)
        held = (await self.decisions.frozen(community_id)).get(club)
        return await asyncio.to_thread(
            club_report,
            caddie=caddie,
            club=club,
            posterior=posterior,
            results=results,
            frozen=held.reason if held else "",
        )

    async def freeze(self, community_id: int, typed: str, *, coach: Author, reason: str) -> str:
        """Hold a club at what is known now; the club's name."""
        kit = (await self.kits.caddie(community_id)).kit
        club, why = club_name(kit, typed), _reason(reason)
        grades = {grade: n for n, (name, grade) in enumerate(grade_keys(kit)) if name == club}
        posterior = await self.learner.posterior(community_id)
        held, now = held_at(club, grades, posterior, why), self._db.now()

        def effect(connection: Connection) -> bool:
            return freeze_club(connection, community_id, held, at=now)

        await self.decide(community_id, coach, f"froze the {club}", why, effect)
        return club

    async def release(self, community_id: int, typed: str, *, coach: Author, reason: str) -> str:
        """Let a club learn again. Errors: InputError where it was not frozen."""
        kit = (await self.kits.caddie(community_id)).kit
        club, why = club_name(kit, typed), _reason(reason)

        def effect(connection: Connection) -> bool:
            return release_club(connection, community_id, club)

        if not await self.decide(community_id, coach, f"released the {club}", why, effect):
            raise InputError(f"The {club} is not frozen.", f"/gain freeze club:{club} reason:…")
        return club

    async def leave_out(
        self, community_id: int, result_id: int, *, coach: Author, reason: str
    ) -> Result:
        """Learn from a result no more. Errors: InputError for a number that is no result here."""
        why = _reason(reason)
        while True:  # its member may correct it in between: then what stands now is left out
            result = await self._results.standing(result_id)
            if result is None or result.community_id != community_id:
                raise _no_result(result_id)
            caddie = await self.kits.caddie(community_id)
            without = [_without(caddie, result, why)]

            def effect(connection: Connection, without: list[Reweighed] = without) -> bool:
                return reweigh_results(connection, community_id, without) > 0

            what = f"left out result {result.id}"
            if await self.decide(community_id, coach, what, why, effect):
                return result

    async def reset(
        self,
        community_id: int,
        typed: str,
        *,
        coach: Author,
        reason: str,
    ) -> tuple[str, int]:
        """Forget a club's shots for the learning, after a change of the game; name and count."""
        caddie = await self.kits.caddie(community_id)
        club, why = club_name(caddie.kit, typed), _reason(reason)
        while True:  # somebody may log one of this club in between, or correct one
            stored = [result async for result in self._of_club(community_id, club)]
            changes = [_without(caddie, result, why) for result in stored if result.played.parts]
            effect = _resets(community_id, club, {result.id for result in stored}, changes)
            what = f"reset the {club} ({len(changes)} shots)"
            if await self.decide(community_id, coach, what, why, effect):
                return club, len(changes)

    async def decide(
        self, community_id: int, coach: Author, what: str, why: str, effect: Effect
    ) -> bool:
        """Let a decision happen, log it and learn of it; False where nothing was to change."""
        if not await self.decisions.decide(community_id, coach, what, why, effect):
            return False
        await self.learner.learn(community_id)
        await self.kits.answers_changed(community_id)
        return True

    async def _of_club(self, community_id: int, club: str) -> AsyncIterator[Result]:
        after = 0
        while page := await self._results.page(community_id, club=club, after_id=after, limit=PAGE):
            for result in page:
                yield result
            after = page[-1].id


def _resets(community_id: int, club: str, ids: set[int], changes: Sequence[Reweighed]) -> Effect:
    """Put the changes in place; nothing where a club's results are others than those ``ids``."""

    def effect(connection: Connection) -> bool:
        if standing_ids(connection, community_id, club) != ids:
            return False
        for start in range(0, len(changes), PAGE):
            reweigh_results(connection, community_id, changes[start : start + PAGE])
        return True

    return effect


def _no_result(result_id: int) -> InputError:
    return InputError(
        "There is no result of this number here; /trust shows them.",
        "/gain leave-out result:12 reason:wrong club",
        str(result_id),
    )


def _without(caddie: Caddie, result: Result, reason: str) -> Reweighed:
    """The result with nothing for the learning; the count of what was set aside stays."""
    played = result.played
    gone = (SCOPE, SCOPE_BEFORE, HITS, RUNS)
    kept = tuple(part for part in played.parts if part.scope not in gone)
    if (played.club, played.grade) in caddie.kit_rack.stamps:
        kept = (*kept, aside(caddie, result))
    return Reweighed(result.id, 0.0, kept, reason)


def _reason(text: str) -> str:
    words = " ".join(text.split())[:190]
    if len(words) < LEAST_REASON:
        raise InputError("A decision needs a reason that others will understand.", "game update")
    return words
