"""Two coaches, a pass and twenty members, interleaved at will, leave what a serial order would.

They work through two doors to one database, as two processes do. Before each of their writes they
stop, with whatever they have read so far; who goes on next, alone or with others at once, is drawn.
At the end some order of the whole deeds, one after another, has to explain every answer and
everything that is kept.
"""

import asyncio
import json
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from itertools import count
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    precondition,
    rule,
    run_state_machine_as_test,
)

from bot.services.caddie.caddie import Caddie
from bot.services.learning import full_pass
from bot.services.learning.decisions import Decisions as KnownDecisions
from bot.services.learning.learner import SCOPE, Learner
from bot.services.members import Caddies
from engine.response import Posterior
from storage.database import Database
from storage.outbox import Outbox
from storage.played import Part, Result
from storage.polls import Polls
from storage.results import Results
from storage.reweigh import Reweighed
from storage.tallies import Tallies
from storage.vectors import VectorSums
from tests.kits import demo_caddie
from tests.unit.deeds import (
    CHANNEL,
    CLUBS,
    COACHES,
    HOLE,
    MEMBERS,
    Deed,
    Deeds,
)
from tests.unit.interleaving import Worker, all_on, gated
from tests.unit.kept_state import Shot, State
from tests.unit.serial_order import Done, serial_order

AT_WORK = 6  # at once: more make the search for an order long
DRAWN = settings(
    max_examples=40,
    stateful_step_count=40,
    deadline=None,
    derandomize=True,
    database=None,
    print_blob=False,
)
COMMUNITIES = count(2**60 + 1000)  # one for each run of the machine

members, coaches = st.sampled_from(MEMBERS), st.sampled_from((0, 1))
clubs, grades = st.sampled_from(CLUBS), st.sampled_from(("ash", "oak", "yew"))
places = st.integers(0, 30)


@dataclass
class House:
    """Two doors to one database, and a loop to run in."""

    runner: asyncio.Runner
    doors: tuple[Database, Database]
    posterior: Posterior
    weights: list[float]  # of the passes, as they begin

    def run(self, work: Any) -> Any:
        return self.runner.run(work)


class Interleaved(RuleBasedStateMachine):
    """Begins deeds and lets them on; what each was answered is held against a model at the end."""

    def __init__(self, house: House) -> None:
        super().__init__()
        self.house, self.here = house, next(COMMUNITIES)
        self.time = 0
        self.numbers = count(1)
        self.at_work: list[tuple[str, int, Worker, Any]] = []
        self.done: list[Done[State]] = []
        self.ids: dict[int, int] = {}
        self.pressed: dict[int, Shot] = {}
        self.corrected: list[tuple[int, Shot]] = []
        self.chat: dict[int, list[str]] = {}
        self.processes = house.run(self._begin())

    async def _begin(self) -> tuple[Deeds, ...]:
        first = self.house.doors[0]
        poll = await Polls(first).create(
            self.here,
            CHANNEL,
            question="?",
            answers=["A", "B"],
            closes_at=first.now(),
            message_id=self.here,
        )
        own = {"posterior": self.house.posterior, "weights": self.house.weights}
        return tuple(Deeds(db, self.here, poll, **own) for db in self.house.doors)

    # Deeds

    def begin(self, deed: Deed) -> None:
        name, work, step = deed
        self.time += 1

        async def begun() -> Worker:
            worker = Worker(work)
            await worker.at_the_gate()
            return worker

        self.at_work.append((name, self.time, self.house.run(begun()), step))
        self.take_answers()

    def take_answers(self) -> None:
        """Who has ended is at work no more."""
        for name, began, worker, step in [each for each in self.at_work if each[2].is_done]:
            self.done.append(Done(name, began, self.time, worker.answer, step))
        self.at_work = [each for each in self.at_work if not each[2].is_done]

    def press(self) -> int:
        return self.here % 2**40 * 1000 + next(self.numbers)

    def process(self, who: int) -> Deeds:
        return self.processes[who % 2]

    def known(self, place: int) -> int:
        """The press of a result that has been logged."""
        return list(self.ids)[place % len(self.ids)]

    def has_room(self) -> bool:
        return len(self.at_work) < AT_WORK

    def has_results(self) -> bool:
        return self.has_room() and bool(self.ids)

    @precondition(has_room)
    @rule(member=members, club=clubs, holed=st.booleans(), long_cm=st.integers(-900, 900))
    def log(self, member: int, club: str, holed: bool, long_cm: int) -> None:
        press = self.press()
        self.pressed[press] = Shot(press, press, club, holed, long_cm)
        self.begin(self.process(member).log(member, self.pressed[press], self.ids))

    @precondition(lambda self: self.has_room() and bool(self.pressed))
    @rule(place=places, process=coaches)
    def log_again(self, place: int, process: int) -> None:
        """The same press, delivered once more, perhaps to the other process."""
        shot = list(self.pressed.values())[place % len(self.pressed)]
        self.begin(self.process(process).log(MEMBERS[0], shot, self.ids))

    @precondition(has_results)
    @rule(place=places, process=coaches, club=clubs, long_cm=st.integers(-900, 900))
    def correct(self, place: int, process: int, club: str, long_cm: int) -> None:
        correction = self.known(place), Shot(0, self.press(), club, False, long_cm)
        self.corrected.append(correction)
        self.begin(self.process(process).correct(*correction, self.ids))

    @precondition(lambda self: self.has_room() and bool(self.corrected))
    @rule(place=places, process=coaches)
    def correct_again(self, place: int, process: int) -> None:
        """The same form, delivered once more."""
        correction = self.corrected[place % len(self.corrected)]
        self.begin(self.process(process).correct(*correction, self.ids))

    @precondition(has_results)
    @rule(place=places, process=coaches)
    def remove(self, place: int, process: int) -> None:
        self.begin(self.process(process).remove(self.known(place), self.ids))

    @precondition(has_room)
    @rule(member=members, club=clubs, grade=grades)
    def set_bag(self, member: int, club: str, grade: str) -> None:
        self.begin(self.process(len(self.at_work)).set_bag(member, club, grade))

    @precondition(has_room)
    @rule(member=st.sampled_from(MEMBERS[:3]), answer=st.sampled_from((1, 2)), added=st.booleans())
    def vote(self, member: int, answer: int, added: bool) -> None:
        self.begin(self.process(len(self.at_work)).vote(member, answer, added))

    @precondition(has_room)
    @rule(coach=coaches, club=clubs, releases=st.booleans())
    def hold(self, coach: int, club: str, releases: bool) -> None:
        deeds, why = self.process(coach), f"an update {next(self.numbers)}"
        do = deeds.release if releases else deeds.freeze
        self.begin(do(COACHES[coach], club, why))

    @precondition(has_results)
    @rule(coach=coaches, place=places)
    def leave_out(self, coach: int, place: int) -> None:
        deeds, why = self.process(coach), f"a slip {next(self.numbers)}"
        self.begin(deeds.leave_out(COACHES[coach], self.known(place), why, self.ids))

    @precondition(has_results)
    @rule(coach=coaches, club=clubs)
    def reset(self, coach: int, club: str) -> None:
        why = f"a new game {next(self.numbers)}"
        self.begin(self.process(coach).reset(COACHES[coach], club, why))

    @precondition(has_room)
    @rule(coach=coaches, kind=st.sampled_from(("write", "note", "measure")))
    def write(self, coach: int, kind: str) -> None:
        self.begin(getattr(self.process(coach), kind)(f"{coach}/{next(self.numbers)}"))

    @precondition(has_room)
    @rule(process=coaches)
    def close(self, process: int) -> None:
        self.begin(self.process(process).close())

    @precondition(lambda self: self.has_results() and not self.passes())
    @rule(process=coaches)
    def weigh(self, process: int) -> None:
        self.begin(self.process(process).weigh(next(self.numbers) / 256))

    def passes(self) -> bool:
        return any(name.startswith("weigh") for name, *_ in self.at_work)

    # Who goes on

    @precondition(lambda self: bool(self.at_work))
    @rule(place=places)
    def one_goes_on(self, place: int) -> None:
        self._on([self.at_work[place % len(self.at_work)][2]])

    @precondition(lambda self: len(self.at_work) > 1)
    @rule(leaving=places)
    def many_go_on_at_once(self, leaving: int) -> None:
        workers = [each[2] for each in self.at_work]
        del workers[leaving % len(workers)]
        self._on(workers)

    def _on(self, workers: list[Worker]) -> None:
        self.time += 1
        self.house.run(all_on(workers))
        self.take_answers()

    @precondition(has_room)
    @rule(process=coaches)
    def post(self, process: int) -> None:
        """Bring what waits to the chat; what is written meanwhile is brought the next time."""
        work = self._post(Outbox(self.house.doors[process]))
        self.begin(("post", work, lambda state: (state, None)))

    async def _post(self, outbox: Outbox) -> None:
        for message in await outbox.claim():
            assert message.community_id == self.here
            message_id = message.message_id or 9000 + len(self.chat)
            self.chat.setdefault(message_id, []).append(str((message.body or {}).get("text")))
            assert await outbox.posted(message, message_id)

    # The end

    def teardown(self) -> None:
        while self.at_work:
            self._on([self.at_work[0][2]])
        self.house.run(self._post(Outbox(self.house.doors[0])))
        found = self.house.run(self.processes[0].kept())
        order = serial_order(State(), found, self.done)
        assert order is not None, "\n".join([*map(str, self.done), str(found)])
        self.house.run(self._sums_are_of_what_stands())
        said = [json.dumps(list(found.line))] if found.line else []
        assert [texts[-1] for texts in self.chat.values()] == said
        lengths = [len(text) for texts in self.chat.values() for text in texts]
        assert lengths == sorted(set(lengths))  # never an older text after a newer, none twice

    async def _sums_are_of_what_stands(self) -> None:
        db = self.house.doors[1]
        standing = await Results(db).page(self.here)
        lines = (await Tallies(db).of_hole(self.here, HOLE)).lines
        assert sum(line.tries for line in lines) == len(standing)
        assert sum(line.holed for line in lines) == sum(each.played.holed for each in standing)
        ends = [each.played.missed_by_cm for each in standing]
        long_cm = sum(miss[0] for miss in ends if miss is not None)
        assert round(sum(line.sum_long_m for line in lines) * 100) == long_cm
        sums: dict[str, tuple[float, ...]] = {}
        for part in (part for each in standing for part in each.played.parts):
            before = sums.get(part.key, (0.0,) * len(part.vector))
            sums[part.key] = tuple(a + b for a, b in zip(before, part.vector, strict=True))
        assert await VectorSums(db).all(self.here, SCOPE) == sums


@contextmanager
def house_on(url: str) -> Iterator[House]:
    with asyncio.Runner() as runner, ExitStack() as stack:

        async def opened() -> tuple[Database, Posterior]:
            db = await Database.open(url)
            kits = Caddies(demo_caddie())
            learner = Learner(kits=kits, sums=VectorSums(db), decisions=KnownDecisions(db))
            return gated(db), await learner.without_shots(1)

        one, posterior = runner.run(opened())
        two, _ = runner.run(opened())
        for each in (one, two):
            stack.callback(lambda each=each: runner.run(each.close()))
        yield House(runner, (one, two), posterior, [])


def weighing(weights: list[float]) -> Callable[[Caddie, list[Result]], list[Reweighed]]:
    """In place of what a pass would compute: the weight of the last that began, for all."""

    def weighed(_: Caddie, stored: list[Result]) -> list[Reweighed]:
        weight = weights[-1]
        return [
            Reweighed(each.id, weight, (Part(SCOPE, f"shots/{each.played.club}", (weight, 0.5)),))
            for each in stored
            if not each.played.left_out
        ]

    return weighed


def test_what_is_left_is_what_a_serial_order_would_leave(
    database_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(full_pass, "AT_ONCE", 2)  # so that a pass writes more than once
    with house_on(database_url) as house:
        monkeypatch.setattr(full_pass, "weighed", weighing(house.weights))
        machine: Any = partial(Interleaved, house)
        run_state_machine_as_test(machine, settings=DRAWN)
