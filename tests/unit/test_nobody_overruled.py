"""Two coaches, a full pass and twenty members at once, over two processes on one database.

What coaches decide is never undone by a pass that read before, nor by a member who corrects a
result; the sums are those of the results that stand; both processes answer alike.
"""

import asyncio
import random
import threading
from collections.abc import AsyncIterator
from dataclasses import dataclass, field

import pytest

from bot.services.caddie.caddie import Caddie
from bot.services.kits.kept import keep_charts, kept_charts
from bot.services.learning import full_pass
from bot.services.learning.full_pass import FullPass
from bot.services.learning.learner import SCOPE
from bot.services.learning.trust_service import TrustService
from bot.services.measure.results import MeasuredResults
from bot.services.results.service import ResultService, Try
from bot.settings import Settings
from bot.wiring import Services, open_services
from shared.actor import Actor, Author
from shared.bag import Bag
from shared.errors import InputError
from shared.kit import Charts
from shared.shot_text import parse
from storage.played import Result
from storage.results import Results
from storage.reweigh import Reweighed
from storage.vectors import VectorSums
from tests.unit.book_kit import demo_cup

HERE, MEMBERS, SHOTS = 2**60 + 41, 20, 2
COACHES = (Author(901, "Rosalind"), Author(902, "Odo"))
EVENT, HOLE = "Windlass Cup", 2
OUTCOMES = ("in", "2 long", "4 short, 1 left", "3 right", "6 long 2 right")
QUESTIONS = ("12 mph from 3, 6-iron, 150", "9 mph from 1, 5-iron, 165")


@dataclass
class Stage:
    """Two processes, and what came of decisions."""

    processes: tuple[Services, Services]
    seed: int
    out: set[int] = field(default_factory=set[int])

    def dice(self, who: int) -> random.Random:
        return random.Random(f"{self.seed}/{who}")

    def at(self, who: int) -> Services:
        return self.processes[who % 2]


@pytest.fixture
async def two(database_url: str) -> AsyncIterator[tuple[Services, Services]]:
    settings = Settings(database=database_url, one_process=True)
    both = await open_services(settings), await open_services(settings)
    cup = demo_cup((await both[0].kits.caddie(HERE)).kit)
    await both[0].book.load(HERE, cup, author=COACHES[0])
    yield both
    for each in both:
        await each.pictures.pool.close()
        await each.db.close()


def results_of(each: Services) -> ResultService:
    return ResultService(
        db=each.db,
        book=each.book,
        kits=each.kits,
        bags=each.bags,
        choices=each.choices,
        learner=each.learner,
        told=each.told,
        measured=MeasuredResults(db=each.db, kits=each.kits, bags=each.bags, learner=each.learner),
    )


def trust_of(each: Services) -> TrustService:
    return TrustService(db=each.db, kits=each.kits, learner=each.learner, decisions=each.decisions)


async def member(stage: Stage, number: int) -> None:
    """Logs shots and corrects one of them."""
    service, dice = results_of(stage.at(number)), stage.dice(number)
    who = Actor(HERE, 7000 + number, f"member {number}")
    for count in range(SHOTS):
        played = Try(EVENT, HOLE, dice.choice("AB"), f"{dice.randint(4, 14)} mph from 3")
        press = 10_000 + 100 * number + 2 * count
        told = await service.log(who, played, dice.choice(OUTCOMES), interaction_id=press)
        await service.learn(HERE)
        await asyncio.sleep(dice.choice((0.0, 0.01, 0.05)))
        if count == 1:
            await service.correct(
                who,
                told.result.id,
                outcome=dice.choice(OUTCOMES),
                wind="8 mph from 4",
                interaction_id=press + 1,
            )


async def coach(stage: Stage, number: int) -> None:
    """Freezes, releases, leaves out, resets, saves charts."""
    each, dice, me = stage.at(number), stage.dice(900 + number), COACHES[number]
    trust = trust_of(each)
    for count in range(6):
        club = dice.choice(("6-iron", "5-iron"))
        await trust.freeze(HERE, club, coach=me, reason=f"hold {number} {count}")
        await asyncio.sleep(dice.choice((0.0, 0.02, 0.06)))
        if dice.random() < 0.7:
            try:
                await trust.release(HERE, club, coach=me, reason=f"go on {number} {count}")
            except InputError:
                assert number in (0, 1)  # the other coach was first
        page = await Results(each.db).page(HERE)
        if page:
            one = dice.choice(page)
            try:
                await trust.leave_out(HERE, one.id, coach=me, reason=f"a slip {number} {count}")
                stage.out.add(one.origin_id)
            except InputError:
                assert (await Results(each.db).standing(one.id)) != one  # corrected meanwhile
        if count == 3:
            before = {result.id for result in page if result.played.club == "6-iron"}
            await trust.reset(HERE, "6-iron", coach=me, reason=f"an update {number}")
            stage.out |= {r.origin_id for r in await standing(each) if r.id in before}
        await chart(each, me, 1.0 + 0.1 * count + number)


async def chart(each: Services, me: Author, marks: float) -> None:
    """Saves a chart of the coach's own club over whatever stands."""
    rows = ((0.5, marks), (1.0, 2 * marks))
    club, now = ("driver", "9-iron")[me.member_id == 902], each.db.now()

    def fn(connection) -> None:
        charts = kept_charts(connection, HERE).with_charts(
            club, Charts(into=rows, helping=rows, across=rows)
        )
        keep_charts(connection, HERE, charts, author=me, reason="measured", at=now)

    await each.db.write(fn)


async def weigh(stage: Stage, number: int) -> None:
    each = stage.at(number)
    full = FullPass(db=each.db, kits=each.kits, learner=each.learner)
    for _ in range(3):
        await full.refresh(HERE)
        await asyncio.sleep(0.03)


async def standing(each: Services) -> list[Result]:
    return await Results(each.db).page(HERE)


async def test_what_coaches_decide_stands_whatever_goes_on_beside(
    two: tuple[Services, Services],
) -> None:
    stage = Stage(two, seed=17)
    await asyncio.gather(
        *(member(stage, number) for number in range(MEMBERS)),
        *(coach(stage, number) for number in range(2)),
        *(weigh(stage, number) for number in range(2)),
    )
    await FullPass(db=two[1].db, kits=two[1].kits, learner=two[1].learner).refresh(HERE)
    left = await standing(two[0])
    assert len(left) == SHOTS * MEMBERS and stage.out
    assert {each.origin_id for each in left if each.played.left_out} == stage.out
    assert all(each.played.weight == 0 for each in left if each.played.left_out)
    await sums_are_of_what_stands(two[0], left)
    await the_log_says_what_is_frozen(two[0])
    await both_answer_alike(two)


async def test_a_member_who_corrects_a_result_does_not_take_it_in_again(
    two: tuple[Services, Services],
) -> None:
    here, there = two
    service, who = results_of(here), Actor(HERE, 71, "Wren")
    told = await service.log(who, Try(EVENT, HOLE, "A", "9 mph from 3"), "in", interaction_id=1)
    await trust_of(there).leave_out(HERE, told.result.id, coach=COACHES[0], reason="another club")
    mended = await service.correct(
        who, told.result.id, outcome="40 left", wind="9 mph from 3", interaction_id=2
    )
    played = mended.result.played
    assert played.miss_cm is not None and played.miss_cm[1] < -3000
    assert (played.left_out, played.weight) == ("another club", 0.0)
    await sums_are_of_what_stands(here, await standing(here))


async def test_a_pass_that_read_before_undoes_no_decision(
    two: tuple[Services, Services], monkeypatch: pytest.MonkeyPatch
) -> None:
    here, there = two
    service, who = results_of(here), Actor(HERE, 72, "Ivo")
    for number in range(6):
        wind = f"{6 + number} mph from 3"
        await service.log(who, Try(EVENT, HOLE, "A", wind), "9 right", interaction_id=number)
    reads, goes_on = threading.Event(), threading.Event()

    def thinks(caddie: Caddie, stored: list[Result]) -> list[Reweighed]:
        reads.set()
        assert goes_on.wait(30)
        return [Reweighed(each.id, 1.0, each.played.parts) for each in stored]

    monkeypatch.setattr(full_pass, "weighed", thinks)
    full = FullPass(db=here.db, kits=here.kits, learner=here.learner)
    passing = asyncio.create_task(full.refresh(HERE))
    while not reads.is_set():
        await asyncio.sleep(0.01)
    trust = trust_of(there)
    one = (await standing(there))[2]
    await trust.leave_out(HERE, one.id, coach=COACHES[0], reason="a slip")
    await trust.freeze(HERE, "5-iron", coach=COACHES[1], reason="an update")
    await chart(there, COACHES[0], 1.25)
    goes_on.set()
    await passing
    assert [each.id for each in await standing(here) if each.played.left_out] == [one.id]
    assert list(await here.decisions.frozen(HERE)) == ["5-iron"]
    assert (await here.kits.caddie(HERE)).kit.club("driver").charts is not None
    await trust.reset(HERE, one.played.club, coach=COACHES[0], reason="an update")
    assert all(each.played.left_out for each in await standing(here))
    await sums_are_of_what_stands(here, await standing(here))


async def sums_are_of_what_stands(each: Services, left: list[Result]) -> None:
    sums: dict[str, tuple[float, ...]] = {}
    for part in (part for result in left for part in result.played.parts if part.scope == SCOPE):
        before = sums.get(part.key, (0.0,) * len(part.vector))
        sums[part.key] = tuple(a + b for a, b in zip(before, part.vector, strict=True))
    kept = {
        key: row for key, row in (await VectorSums(each.db).all(HERE, SCOPE)).items() if any(row)
    }
    assert kept.keys() == {key for key, row in sums.items() if any(row)}
    for key, row in kept.items():
        assert row == pytest.approx(sums[key], abs=1e-6)


async def the_log_says_what_is_frozen(each: Services) -> None:
    frozen: dict[str, str] = {}
    for decision in reversed(await each.decisions.log(HERE)):
        what, _, club = decision.what.partition(" the ")
        if what == "froze":
            frozen[club] = decision.reason
        elif what == "released":
            del frozen[club]
    held = await each.decisions.frozen(HERE)
    assert {club: one.reason for club, one in held.items()} == frozen


async def both_answer_alike(two: tuple[Services, Services]) -> None:
    for question in QUESTIONS:
        found = []
        for each in two:
            caddie = await each.kits.caddie(HERE)
            found.append(caddie.answer(shot=parse(question, kit=caddie.kit), bag=Bag()).allowance)
        assert found[0] == found[1]
    for each in two:
        kit = (await each.kits.caddie(HERE)).kit
        for club, marks in (("driver", 1.5), ("9-iron", 2.5)):  # the last of each coach
            charts = kit.club(club).charts
            assert charts is not None and charts.into[0][1] == pytest.approx(marks)
