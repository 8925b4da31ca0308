"""Weights and parts of kept results may change; the sums follow, the results stay as logged."""

from dataclasses import replace

import pytest

from storage.database import Database
from storage.played import Part, Played
from storage.results import Results
from storage.reweigh import Reweighed, reweigh
from storage.vectors import VectorSums

HERE = 77


def played(first: float, second: float, *, weight: float = 1.0) -> Played:
    return Played(
        hole_key="cup/01",
        line_key="cup/01/A",
        variant="A",
        holed=False,
        miss_cm=(120, -340),
        observed_cm=(-410, 95),
        weight=weight,
        parts=(Part("gain", "7-iron/ash", (first, second)),),
    )


async def keep(db: Database, number: int, what: Played) -> int:
    logged = await Results(db).add(
        HERE, what, member_id=5, author_name="Tamsin", interaction_id=number
    )
    return logged.result.id


async def test_the_sums_follow_a_change_and_the_rest_stays(db: Database) -> None:
    first, second = await keep(db, 1, played(2.0, 0.5)), await keep(db, 2, played(3.0, -1.5))
    changed = Reweighed(second, 0.25, (Part("gain", "7-iron/ash", (0.75, -0.375)),), "wrong wind")
    assert await reweigh(db, HERE, [changed]) == 1
    assert await VectorSums(db).get(HERE, "gain", "7-iron/ash") == (2.75, 0.125)
    result = await Results(db).standing(second)
    assert result is not None
    assert (result.played.weight, result.played.left_out) == (0.25, "wrong wind")
    assert (result.played.miss_cm, result.played.observed_cm) == ((120, -340), (-410, 95))
    untouched = await Results(db).standing(first)
    assert untouched is not None and untouched.played.weight == 1.0


async def test_a_pass_over_all_results_leaves_a_coachs_word_alone(db: Database) -> None:
    """What a coach left out while the pass was computing stays left out."""
    out, stays = await keep(db, 1, played(2.0, 0.5)), await keep(db, 2, played(3.0, -1.5))
    assert await reweigh(db, HERE, [Reweighed(out, 0.0, (), "wrong club")]) == 1
    new = (Part("gain", "7-iron/ash", (1.0, 1.0)),)
    assert await reweigh(db, HERE, [Reweighed(each, 0.5, new) for each in (out, stays)]) == 1
    assert await VectorSums(db).get(HERE, "gain", "7-iron/ash") == (1.0, 1.0)
    left, kept = await Results(db).standing(out), await Results(db).standing(stays)
    assert left is not None and (left.played.left_out, left.played.weight) == ("wrong club", 0.0)
    assert kept is not None and (kept.played.left_out, kept.played.weight) == ("", 0.5)
    # Only an empty reason takes it in again.
    assert await reweigh(db, HERE, [Reweighed(out, 1.0, new, "")]) == 1
    again = await Results(db).standing(out)
    assert again is not None and again.played.left_out == ""


async def test_taking_everything_out_leaves_no_trace(db: Database) -> None:
    ids = [await keep(db, n, played(0.1 * n, -0.7)) for n in (1, 2, 3)]
    assert await reweigh(db, HERE, [Reweighed(each, 0.0, (), "reset") for each in ids]) == 3
    assert await VectorSums(db).get(HERE, "gain", "7-iron/ash") is None
    assert await Results(db).remove(ids[1])


async def test_a_removed_result_and_another_communitys_are_passed_over(db: Database) -> None:
    gone, stays = await keep(db, 1, played(2.0, 0.5)), await keep(db, 2, played(3.0, -1.5))
    await Results(db).remove(gone)
    changes = [Reweighed(each, 0.5, ()) for each in (gone, stays)]
    assert await reweigh(db, HERE + 1, changes) == 0
    assert await reweigh(db, HERE, changes) == 1
