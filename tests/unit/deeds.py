"""What members, coaches and a pass do to a database, and a plain model of each deed.

A deed is a coroutine that does it, with the answer in plain values, and a step of the model: the
state after it and the answer it has where nobody else is at work.
"""

import json
from collections.abc import Callable, Coroutine
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, select

from bot.services.learning.decisions import Decisions
from bot.services.learning.full_pass import FullPass
from bot.services.learning.learner import SCOPE
from bot.services.learning.trust_service import TrustService
from bot.services.members import Caddies
from engine.response import Posterior
from shared.actor import Author
from shared.bag import Bag
from shared.errors import InputError
from storage.bags import Bags
from storage.database import Database
from storage.decisions import Decision, keep_decision
from storage.json import Json, JsonObject
from storage.outbox import want_message
from storage.played import Part, Played, Result
from storage.polls import Poll, Polls, tally_of
from storage.results import Results
from storage.revisions import Draft, Revisions, append_revisions, latest_revision
from storage.schema import results, votes
from storage.series import MeasuredSeries
from storage.settings import CommunitySettings
from tests.kits import demo_caddie
from tests.unit.kept_state import Shot, State

MEMBERS = range(7000, 7020)
CLUBS = ("driver", "5-iron")
COACHES = (Author(901, "Rosalind"), Author(902, "Odo"))
HOLE, LINE, CHANNEL = "cup/04", "cup/04/A", 2**60 + 102


Step = Callable[[State], tuple[State, object]]
Deed = tuple[str, Coroutine[Any, Any, object], Step]


class Silent:
    """A learner that has nothing to say: decisions are kept without it."""

    def __init__(self, posterior: Posterior) -> None:
        self._posterior = posterior

    async def posterior(self, _: int) -> Posterior:
        return self._posterior

    async def learn(self, _: int) -> None:
        """Nothing."""

    def made_anew(self, *_: object) -> None:
        """Nothing."""


def played(shot: Shot) -> Played:
    return Played(
        hole_key=HOLE,
        line_key=LINE,
        variant="A",
        holed=shot.holed,
        miss_cm=(shot.long_cm, 7),
        club=shot.club,
        grade="ash",
        parts=(Part(SCOPE, f"shots/{shot.club}", (shot.long_cm / 64, 1.0)),),
    )


class Deeds:
    """What is done by one process, in one community."""

    def __init__(
        self, db: Database, here: int, poll: Poll, *, posterior: Posterior, weights: list[float]
    ) -> None:
        self.db, self.here, self.poll, self.weights = db, here, poll, weights
        silent: Any = Silent(posterior)
        kits = Caddies(demo_caddie())
        self._trust = TrustService(db=db, kits=kits, learner=silent, decisions=Decisions(db))
        self._pass = FullPass(db=db, kits=kits, learner=silent)

    # Members

    def log(self, member: int, shot: Shot, ids: dict[int, int]) -> Deed:
        async def do() -> object:
            who = {"member_id": member, "author_name": f"member {member}"}
            logged = await Results(self.db).add(
                self.here, played(shot), interaction_id=shot.press, **who
            )
            ids.setdefault(shot.press, logged.result.id)
            return logged.counted

        def step(state: State) -> tuple[State, object]:
            if shot.press in state.presses:
                return state, False
            return state.with_shots([], [shot], presses=state.presses | {shot.press}), True

        return f"log {shot.press}", do(), step

    def correct(self, press: int, new: Shot, ids: dict[int, int]) -> Deed:
        async def do() -> object:
            kept = Results(self.db)
            told = await kept.correct(ids[press], played(new), interaction_id=new.last)
            return told and told.counted

        def step(state: State) -> tuple[State, object]:
            if new.last in state.presses:
                return state, False
            old = state.shot(press)
            if old is None:
                return state, None
            aside = {"left_out": old.left_out, "weight": 0.0} if old.left_out else {}
            better = replace(new, press=press, **aside)
            return state.with_shots([old], [better], presses=state.presses | {new.last}), True

        return f"correct {press} by {new.last}", do(), step

    def remove(self, press: int, ids: dict[int, int]) -> Deed:
        def step(state: State) -> tuple[State, object]:
            old = state.shot(press)
            return (state, False) if old is None else (state.with_shots([old], []), True)

        return f"remove {press}", Results(self.db).remove(ids[press]), step

    def set_bag(self, member: int, club: str, grade: str) -> Deed:
        def mine(rows: frozenset[tuple[int, str, str]]) -> frozenset[tuple[str, str]]:
            return frozenset((name, kind) for who, name, kind in rows if who == member)

        async def do() -> object:
            bag = await Bags(self.db).change(
                self.here, member, lambda bag: Bag(grades={**bag.grades, club: grade})
            )
            return frozenset(bag.grades.items())

        def step(state: State) -> tuple[State, object]:
            gone = {row for row in state.bags if row[:2] == (member, club)}
            after = replace(state, bags=(state.bags - gone) | {(member, club, grade)})
            return after, mine(after.bags)

        return f"bag of {member}: {grade} {club}", do(), step

    def vote(self, member: int, answer: int, added: bool) -> Deed:
        given = (member, answer)

        def step(state: State) -> tuple[State, object]:
            if not state.is_open or (given in state.votes) == added:
                return state, False
            after = state.votes | {given} if added else state.votes - {given}
            return replace(state, votes=after), True

        assert self.poll.message_id is not None
        voting = Polls(self.db).vote(self.poll.message_id, member, answer, added=added)
        return f"vote {given} {added}", voting, step

    # Coaches

    def freeze(self, coach: Author, club: str, why: str) -> Deed:
        def step(state: State) -> tuple[State, object]:
            others = frozenset(each for each in state.frozen if each[0] != club)
            return state.decided(f"froze the {club}", why, frozen=others | {(club, why)}), club

        doing = self._trust.freeze(self.here, club, coach=coach, reason=why)
        return f"freeze {club}", doing, step

    def release(self, coach: Author, club: str, why: str) -> Deed:
        def step(state: State) -> tuple[State, object]:
            others = frozenset(each for each in state.frozen if each[0] != club)
            if others == state.frozen:
                return state, "refused"
            return state.decided(f"released the {club}", why, frozen=others), club

        doing = self._trust.release(self.here, club, coach=coach, reason=why)
        return f"release {club}", or_refused(doing), step

    def leave_out(self, coach: Author, press: int, why: str, ids: dict[int, int]) -> Deed:
        async def do() -> object:
            result = await self._trust.leave_out(self.here, ids[press], coach=coach, reason=why)
            return result.interaction_id

        def step(state: State) -> tuple[State, object]:
            old = state.shot(press)
            if old is None:
                return state, "refused"
            after = state.with_shots([old], [replace(old, left_out=why, weight=0.0)])
            return after.decided(f"left out {old.last}", why), old.last

        return f"leave out {press}", or_refused(do()), step

    def reset(self, coach: Author, club: str, why: str) -> Deed:
        def step(state: State) -> tuple[State, object]:
            gone = [each for each in state.shots if each.club == club]
            new = [replace(each, left_out=why, weight=0.0) for each in gone]
            what = f"reset the {club} ({len(gone)} shots)"
            return state.with_shots(gone, new).decided(what, why), (club, len(gone))

        doing = self._trust.reset(self.here, club, coach=coach, reason=why)
        return f"reset {club}", doing, step

    def write(self, what: str) -> Deed:
        """Something more to a line, and the message about it."""

        async def do() -> object:
            await self.db.write(self._add_to_line(what))
            return None

        def step(state: State) -> tuple[State, object]:
            return replace(state, line=(*state.line, what)), None

        return f"write {what}", do(), step

    def _add_to_line(self, what: str) -> Callable[[Connection], None]:
        def fn(connection: Connection) -> None:
            newest = latest_revision(connection, self.here, "line", LINE)
            said: list[str] = [] if newest is None else json.loads(newest.body)
            draft, now = Draft("line", LINE, json.dumps([*said, what])), self.db.now()
            author = Author(None, "a coach")
            append_revisions(connection, self.here, [draft], author=author, reason="", at=now)
            body: JsonObject = {"text": draft.body}
            want_message(connection, self.here, "note", CHANNEL, body, at=now)

        return fn

    def note(self, what: str) -> Deed:
        """Something more in a setting."""

        def added(value: Json) -> Json:
            return [*value, what] if isinstance(value, list) else [what]

        async def do() -> object:
            said = await CommunitySettings(self.db).change(self.here, "log", added)
            return tuple(said) if isinstance(said, list) else said

        def step(state: State) -> tuple[State, object]:
            after = replace(state, log=(*state.log, what))
            return after, after.log

        return f"note {what}", do(), step

    def measure(self, what: str) -> Deed:
        """A shot more of a club that is measured on purpose."""

        def added(body: JsonObject | None) -> JsonObject:
            before: Any = (body or {}).get("shots", [])
            return {"shots": [*before, what]}

        async def do() -> object:
            series = MeasuredSeries(self.db)
            body: Any = await series.change(self.here, COACHES[0].member_id or 0, "driver", added)
            return tuple(body["shots"])

        def step(state: State) -> tuple[State, object]:
            after = replace(state, series=(*state.series, what))
            return after, after.series

        return f"measure {what}", do(), step

    # What goes on by itself

    def close(self) -> Deed:
        def effect(connection: Connection) -> None:
            counts = tally_of(connection, self.poll).counts
            decision = Decision(None, None, "poll", words(counts), self.db.now())
            keep_decision(connection, self.here, decision)

        def step(state: State) -> tuple[State, object]:
            if not state.is_open:
                return state, False
            counts = {answer: sum(each == answer for _, each in state.votes) for answer in (1, 2)}
            return state.decided("poll", words(counts), is_open=False), True

        return "close the poll", Polls(self.db).close(self.poll.id, "time", effect), step

    def weigh(self, weight: float) -> Deed:
        """A full pass, which finds one weight for all."""

        def step(state: State) -> tuple[State, object]:
            gone = [each for each in state.shots if not each.left_out]
            return state.with_shots(gone, [replace(each, weight=weight) for each in gone]), None

        async def do() -> object:
            self.weights.append(weight)
            await self._pass.refresh(self.here)
            return None

        return f"weigh as {weight}", do(), step

    # What is kept in the end

    async def kept(self) -> State:
        """Everything, as it stands in the database."""
        shots: list[Result] = await Results(self.db).page(self.here)
        rows = await self.db.read(self._rows)
        line = await Revisions(self.db).latest(self.here, "line", LINE)
        log: Any = await CommunitySettings(self.db).get(self.here, "log")
        coach = COACHES[0].member_id or 0
        series: Any = await MeasuredSeries(self.db).get(self.here, coach, "driver")
        poll = await Polls(self.db).get(self.poll.id)
        decisions = Decisions(self.db)
        said = {row.id: row.interaction_id for row in rows}
        first = {row.id: said[row.origin_id or row.id] for row in rows}
        return State(
            shots=frozenset(_shot(each, first[each.id]) for each in shots),
            presses=frozenset(said.values()),
            bags=await self._bags(),
            votes=await self._votes(),
            is_open=poll is not None and poll.state == "open",
            frozen=frozenset(
                (club, each.reason) for club, each in (await decisions.frozen(self.here)).items()
            ),
            decisions=tuple(
                (_named(each.what, said), each.reason)
                for each in reversed(await decisions.log(self.here))
            ),
            line=() if line is None else tuple(json.loads(line.body)),
            log=tuple(log or ()),
            series=tuple(series["shots"]) if series else (),
        )

    def _rows(self, connection: Connection) -> list[Any]:
        c = results.c
        query = select(c.id, c.interaction_id, c.origin_id).where(c.community_id == self.here)
        return list(connection.execute(query))

    async def _bags(self) -> frozenset[tuple[int, str, str]]:
        kept = [(each, await Bags(self.db).get(self.here, each)) for each in MEMBERS]
        return frozenset(
            (member, club, grade)
            for member, bag in kept
            if bag is not None
            for club, grade in bag.grades.items()
        )

    async def _votes(self) -> frozenset[tuple[int, int]]:
        query = select(votes).where(votes.c.poll_id == self.poll.id).order_by(votes.c.id)
        standing: set[tuple[int, int]] = set()
        for row in await self.db.read(lambda connection: connection.execute(query).all()):
            (standing.add if row.added else standing.discard)((row.member_id, row.answer))
        return frozenset(standing)


def words(counts: dict[int, int]) -> str:
    return json.dumps(sorted(counts.items()))


async def or_refused(doing: Coroutine[Any, Any, object]) -> object:
    try:
        return await doing
    except InputError:
        return "refused"


def _shot(result: Result, press: int) -> Shot:
    it = result.played
    assert it.miss_cm is not None
    last, long_cm = result.interaction_id, it.miss_cm[0]
    return Shot(press, last, it.club, it.holed, long_cm, it.weight, it.left_out)


def _named(what: str, said: dict[int, int]) -> str:
    """A decision about a result by its press, which is the same whatever ids there are."""
    begin, _, number = what.rpartition("result ")
    return f"{begin}{said[int(number)]}" if begin == "left out " else what
