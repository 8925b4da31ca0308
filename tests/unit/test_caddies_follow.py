"""Two processes on one database: what one changes, the other's next answer knows; memory ends.

Each process is a set of services of its own, as ``open_services`` wires them.
"""

from collections.abc import AsyncIterator

import numpy as np
import pytest

from bot.services import members
from bot.services.caddie.caddie import Choice
from bot.services.kits.kept import KeptCharts, keep_charts
from bot.services.learning.learner import Seen
from bot.services.learning.trust_service import TrustService
from bot.services.members import Caddies, ToldAim
from bot.services.privacy import PrivacyService
from bot.settings import Settings
from bot.wiring import Services, open_services
from engine.response_features import Situations
from shared.actor import Author
from shared.bag import Bag
from shared.kit import Charts
from shared.shot_text import parse
from storage.played import Played
from storage.results import ChanceGiven, Results
from tests.kits import demo_caddie
from tests.unit.book_kit import small_event

HERE, ELSEWHERE = 2**60 + 31, 2**60 + 32
COACH = Author(9, "Rosalind")
QUESTION = "12 mph from 3, 5-iron, 160"


@pytest.fixture
async def two(database_url: str) -> AsyncIterator[tuple[Services, Services]]:
    settings = Settings(database=database_url, one_process=True)
    here, there = await open_services(settings), await open_services(settings)
    yield here, there
    for each in (here, there):
        await each.pictures.pool.close()
        await each.db.close()


async def answered(services: Services, community_id: int = HERE) -> tuple[float, float]:
    caddie = await services.kits.caddie(community_id)
    allowance = caddie.answer(shot=parse(QUESTION, kit=caddie.kit), bag=Bag()).allowance
    return allowance.right_marks, allowance.long_marks


async def play(services: Services, *, count: int, first: int = 0) -> None:
    """Shots that the wind moved 9 m less to the left than the law says."""
    ones = np.ones(1)
    asked = Situations(
        law_long_m=2.0 * ones,
        law_right_m=12.0 * ones,
        carry_m=146.0 * ones,
        share=0.96 * ones,
        height_m=0.0 * ones,
        wind_mps=5.4 * ones,
        from_deg=90.0 * ones,
    )
    for number in range(first, first + count):
        lesson = await services.learner.lesson(HERE, Seen("5-iron", "ash", asked, (-2.0, -3.0)))
        assert lesson is not None
        played = Played(
            hole_key="cup-1/04",
            line_key="cup-1/04/A",
            variant="A",
            holed=False,
            club="5-iron",
            grade="ash",
            parts=(lesson.part,),
            weight=lesson.weight,
        )
        await Results(services.db).add(
            HERE, played, member_id=3, author_name="M", interaction_id=number
        )


def trust(services: Services) -> TrustService:
    return TrustService(
        db=services.db,
        kits=services.kits,
        learner=services.learner,
        decisions=services.decisions,
    )


async def test_what_one_process_is_told_the_other_answers_by(
    two: tuple[Services, Services],
) -> None:
    here, there = two
    before = await answered(here)
    assert await answered(there) == before
    await play(there, count=12)
    learned = await answered(here)
    assert learned == await answered(there) and learned[0] < before[0] - 1
    assert await answered(here, ELSEWHERE) == before


async def test_a_club_one_process_freezes_is_held_in_the_other(
    two: tuple[Services, Services],
) -> None:
    here, there = two
    await play(here, count=3)
    held = await answered(there)
    await trust(there).freeze(HERE, "5-iron", coach=COACH, reason="an update")
    await play(here, count=12, first=50)
    assert await answered(here) == await answered(there) == held
    await trust(here).release(HERE, "5-iron", coach=COACH, reason="settled")
    assert await answered(there) != held


async def test_a_chart_one_process_saves_is_the_others_too(two: tuple[Services, Services]) -> None:
    here, there = two
    before = await answered(here)
    rows = ((0.5, 0.9), (1.0, 1.9))
    charts = KeptCharts().with_charts("5-iron", Charts(into=rows, helping=rows, across=rows))
    now = there.db.now()
    await there.db.write(
        lambda connection: keep_charts(
            connection, HERE, charts, author=COACH, reason="measured", at=now
        )
    )
    changed = await answered(here)
    assert changed == await answered(there) and changed != before
    assert await answered(here, ELSEWHERE) == before


async def test_a_bag_one_process_sets_the_other_answers_by(two: tuple[Services, Services]) -> None:
    here, there = two
    assert await there.bags.get(HERE, 3) == Bag() == await here.bags.get(HERE, 3)
    await here.bags.change(HERE, 3, grades={"5-iron": "yew"}, units="metric")
    assert await there.bags.get(HERE, 3) == Bag(grades={"5-iron": "yew"}, units="metric")
    await there.bags.change(HERE, 3, grades={"5-iron": "oak"}, private=True)
    found = await here.bags.get(HERE, 3)
    assert (found.grades, found.units, found.private) == ({"5-iron": "oak"}, "metric", True)
    await there.bags.change(HERE, 4, grades={"driver": "yew"})
    assert (await here.bags.get(HERE, 4)).grades == {"driver": "yew"}
    assert await here.bags.get(ELSEWHERE, 3) == Bag()
    gone = PrivacyService(db=there.db, bags=there.bags, told=there.told)
    await gone.forget(HERE, 3)
    assert await here.bags.get(HERE, 3) == Bag()


async def test_an_aim_told_by_one_process_is_aimed_by_in_the_other(
    two: tuple[Services, Services],
) -> None:
    here, there = two
    told = ToldAim(Choice("5-iron", "oak", "plover"), (1200, -900), 153.5, (4.25, -6.5))
    there.told.note(HERE, 3, told)
    await there.told.all_kept()
    assert await here.told.of(HERE, 3) == (told,)
    assert await here.told.winds(HERE, 3) == [(1200, -900)]
    assert await here.told.of(HERE, 4) == await here.told.of(ELSEWHERE, 3) == ()
    gone = PrivacyService(db=here.db, bags=here.bags, told=here.told)
    await gone.forget(HERE, 3)
    assert await there.told.of(HERE, 3) == ()


async def test_a_division_and_a_round_said_to_one_process_are_known_to_the_other(
    two: tuple[Services, Services],
) -> None:
    here, there = two
    await there.book.load(HERE, small_event(), author=COACH)
    found, round_ = await here.book.current(HERE)
    assert (found.name, round_) == ("Small Cup", "First")
    await here.book.set_round(HERE, found.rounds[1])
    assert (await there.book.current(HERE))[1] == found.rounds[1]
    assert await there.book.division_of(HERE, 3, found.name) is None
    await here.book.set_division(HERE, 3, "Oar")
    assert await there.book.division_of(HERE, 3, found.name) == "Oar"
    await there.book.set_division(HERE, 3, "Sail")
    assert await here.book.division_of(HERE, 3, found.name) == "Sail"


async def test_only_so_many_communities_are_kept_in_memory(
    two: tuple[Services, Services], monkeypatch: pytest.MonkeyPatch
) -> None:
    here, _ = two
    monkeypatch.setattr(members, "COMMUNITIES_IN_MEMORY", 3)
    monkeypatch.setattr("bot.services.learning.learner.COMMUNITIES_IN_MEMORY", 3)
    await play(here, count=6)
    learned = await answered(here)
    for community_id in range(100, 110):
        await answered(here, community_id)
    assert len(here.kits._standing) == len(here.learner._learned) == 3
    assert await answered(here) == learned
    for community_id in range(100, 110):
        await answered(here, community_id)
    here.learner._learned.clear()  # as where others took its place in between
    assert (await here.learner.posterior(HERE)) is not None


async def test_without_versions_a_caddie_is_asked_for_once() -> None:
    first = demo_caddie()
    caddies = Caddies(first)
    assert await caddies.caddie(HERE) is await caddies.caddie(HERE)


async def test_a_diagram_is_kept_until_a_result_comes_in_either_process(
    two: tuple[Services, Services], monkeypatch: pytest.MonkeyPatch
) -> None:
    here, there = two
    read: list[int] = []
    chances = Results.chances

    async def counted(self: Results, community_id: int, *, limit: int) -> list[ChanceGiven]:
        read.append(community_id)
        return await chances(self, community_id, limit=limit)

    monkeypatch.setattr(Results, "chances", counted)
    assert [(await here.chances.earned(HERE)).logged for _ in range(3)] == [0, 0, 0]
    assert len(read) == 1
    told = Played("h", "h/A", "A", False, club="6-iron", grade="ash", chance=0.125)
    results = Results(there.db)
    kept = await results.add(HERE, told, member_id=5, author_name="x", interaction_id=1)
    await results.add(ELSEWHERE, told, member_id=5, author_name="x", interaction_id=2)
    assert [(await each.chances.earned(HERE)).logged for each in (here, there, here)] == [1, 1, 1]
    assert read == [HERE] * 3
    await results.remove(kept.result.id)
    assert (await here.chances.earned(HERE)).logged == 0
    assert (await here.chances.earned(ELSEWHERE)).logged == 1
