"""Bags last, and two changes at once both count."""

import asyncio
from collections.abc import Callable

import pytest

from shared.bag import Bag
from storage.bags import Bags
from storage.database import Database
from tests.unit.conftest import Opener

HERE, ELSEWHERE = 2**62 + 11, 2**62 + 12  # as large as chat ids may grow
ANN, BEN = 2**62 + 501, 2**62 + 502


async def test_what_was_never_put_is_none(db: Database) -> None:
    assert await Bags(db).get(HERE, ANN) is None


async def test_a_bag_outlives_the_database_being_closed(db: Database, open_another: Opener) -> None:
    bag = Bag(grades={"7-iron": "forged", "driver": "tour"}, ball="søft", units="metric")
    await Bags(db).put(HERE, ANN, bag)
    await db.close()
    assert await Bags(await open_another()).get(HERE, ANN) == bag


async def test_bags_are_kept_apart_by_member_and_community(db: Database) -> None:
    bags = Bags(db)
    await bags.put(HERE, ANN, Bag(ball="soft"))
    await bags.put(HERE, BEN, Bag(ball="firm"))
    await bags.put(ELSEWHERE, ANN, Bag(units="metric"))
    assert await bags.get(HERE, ANN) == Bag(ball="soft")
    assert await bags.get(HERE, BEN) == Bag(ball="firm")
    assert await bags.get(ELSEWHERE, ANN) == Bag(units="metric")
    assert await bags.get(ELSEWHERE, BEN) is None


async def test_putting_again_replaces(db: Database) -> None:
    bags = Bags(db)
    await bags.put(HERE, ANN, Bag(grades={"driver": "tour"}, ball="soft"))
    await bags.put(HERE, ANN, Bag(grades={"hybrid": "plain"}))
    assert await bags.get(HERE, ANN) == Bag(grades={"hybrid": "plain"})


def with_grade(club: str, grade: str) -> Callable[[Bag], Bag]:
    return lambda bag: Bag(grades={**bag.grades, club: grade}, ball=bag.ball, units=bag.units)


async def test_one_grade_changes_and_the_rest_stays(db: Database) -> None:
    bags = Bags(db)
    await bags.put(HERE, ANN, Bag(grades={"driver": "tour"}, ball="soft", units="metric"))
    after = await bags.change(HERE, ANN, with_grade("5-iron", "forged"))
    assert after == Bag(grades={"5-iron": "forged", "driver": "tour"}, ball="soft", units="metric")
    assert await bags.get(HERE, ANN) == after


async def test_forty_clicks_at_once_are_forty_grades(db: Database, open_another: Opener) -> None:
    other = await open_another()
    await asyncio.gather(
        *(
            Bags(database).change(HERE, ANN, with_grade(f"{name}-{number}", f"grade {number}"))
            for name, database in (("wood", db), ("iron", other))
            for number in range(20)
        )
    )
    bag = await Bags(db).get(HERE, ANN)
    assert bag is not None and len(bag.grades) == 40
    assert bag.grades["iron-13"] == "grade 13"


async def test_a_change_that_fails_leaves_the_bag_as_it_was(db: Database) -> None:
    bags = Bags(db)

    def refuse(bag: Bag) -> Bag:
        raise LookupError("no such club")

    with pytest.raises(LookupError):
        await bags.change(HERE, BEN, refuse)
    assert await bags.get(HERE, BEN) is None


async def test_forgetting_takes_one_bag_only(db: Database) -> None:
    bags = Bags(db)
    await bags.put(HERE, ANN, Bag(ball="soft"))
    await bags.put(ELSEWHERE, ANN, Bag(ball="firm"))
    assert await bags.forget(HERE, ANN) is True
    assert await bags.forget(HERE, ANN) is False
    assert await bags.get(HERE, ANN) is None
    assert await bags.get(ELSEWHERE, ANN) == Bag(ball="firm")
