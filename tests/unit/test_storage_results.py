"""Results count once, can be corrected and removed, and the sums follow exactly."""

import asyncio
import dataclasses

import numpy as np
import pytest

from storage.database import Database
from storage.played import Part, Played
from storage.results import Results
from storage.tallies import Tallies
from storage.vectors import VectorSums
from storage.versions import Versions
from tests.unit.conftest import HandClock

HERE, ELSEWHERE = 2**60 + 1, 2**60 + 2
ANN, BEN = 2**61 + 1, 2**61 + 2
HOLE, A, B = "cup/r1/h7", "cup/r1/h7/A", "cup/r1/h7/B"
MISS = Played(
    hole_key=HOLE,
    line_key=A,
    variant="A",
    holed=False,
    miss_cm=(310, -120),
    wind_mmps=(-3576, 1500),  # 8 mph into is cell -4; 3.36 mph to the right is cell 2
    club="7-iron",
    grade="forged",
    ball="soft",
    share=0.93,
    effect_cm=(-900, 410),
    weight=0.75,
    remark="caught the slope",
    line_revision=4,
    round="Second round",
    wind_shown="8.4 mph from 2",
    parts=(Part("gain", "7-iron/forged", (1.0, -2.5, 0.0078125)),),
)
HOLED = dataclasses.replace(MISS, holed=True, miss_cm=None, parts=())


async def add(results: Results, played: Played, interaction: int, member: int | None = ANN):
    return await results.add(
        HERE, played, member_id=member, author_name="Ann", interaction_id=interaction
    )


async def test_a_result_comes_back_as_it_was_logged(db: Database, clock: HandClock) -> None:
    results = Results(db)
    logged = await add(results, MISS, 41)
    assert logged.counted
    kept = await results.standing(logged.result.id)
    assert kept == logged.result
    assert kept is not None and kept.played == MISS
    assert (kept.member_id, kept.author_name, kept.attempt, kept.edition) == (ANN, "Ann", 1, 0)
    assert kept.created_at == clock.time and kept.removed_at is None
    bare = Played(hole_key=HOLE, line_key=B, variant="B", holed=True)
    second = (await add(results, bare, 42)).result
    assert second == await results.standing(second.id) and second.played == bare


async def test_the_same_press_twice_counts_once(db: Database) -> None:
    results = Results(db)
    outcomes = await asyncio.gather(*(add(results, MISS, 43) for _ in range(6)))
    assert [outcome.counted for outcome in outcomes].count(True) == 1
    assert len({outcome.result.id for outcome in outcomes}) == 1
    (line,) = (await Tallies(db).of_hole(HERE, HOLE)).lines
    assert line.tries == 1


async def test_two_presses_by_intent_count_twice(db: Database) -> None:
    results = Results(db)
    outcomes = await asyncio.gather(*(add(results, MISS, 50 + i) for i in range(5)))
    assert sorted(outcome.result.attempt for outcome in outcomes) == [1, 2, 3, 4, 5]
    assert await results.next_attempt(HERE, A, ANN) == 6
    assert await results.next_attempt(HERE, A, BEN) == 1
    assert await results.next_attempt(HERE, B, ANN) == 1
    assert await results.next_attempt(ELSEWHERE, A, ANN) == 1


async def test_a_form_sent_twice_is_one_attempt(db: Database) -> None:
    results = Results(db)

    async def send(interaction: int, member: int, played: Played = MISS):
        return await results.add(
            HERE,
            played,
            member_id=member,
            author_name="x",
            interaction_id=interaction,
            attempt=1,
        )

    first, second = await send(61, ANN), await send(62, ANN, HOLED)
    assert (first.counted, second.counted) == (True, False)
    assert second.result == first.result
    assert (await send(63, BEN)).counted
    (line,) = (await Tallies(db).of_hole(HERE, HOLE)).lines
    assert (line.tries, line.holed) == (2, 0)


async def test_the_sums_of_a_hole(db: Database) -> None:
    results = Results(db)
    await add(results, MISS, 71)
    await add(results, dataclasses.replace(MISS, miss_cm=(-50, 200)), 72, BEN)
    await add(results, HOLED, 73)
    near = dataclasses.replace(MISS, wind_mmps=(-4000, 1500))  # 8.95 mph: still cell -4
    far = dataclasses.replace(MISS, wind_mmps=(-4030, 1500), grade="plain")  # 9.01 mph: cell -5
    await add(results, near, 74)
    await add(results, far, 75)
    await add(results, dataclasses.replace(MISS, line_key=B, variant="B"), 76)
    await add(results, dataclasses.replace(MISS, hole_key="cup/r1/h8", line_key="h8/A"), 77)
    tally = await Tallies(db).of_hole(HERE, HOLE)
    line_a, line_b = tally.lines
    assert (line_a.line_key, line_a.variant) == (A, "A")
    assert (line_a.tries, line_a.holed, line_a.measured) == (5, 1, 4)
    assert line_a.sum_long_m == pytest.approx(3 * 3.10 - 0.50, abs=1e-12)
    assert line_a.sum_right_m == pytest.approx(3 * -1.20 + 2.00, abs=1e-12)
    assert line_a.sum_long2_m2 == pytest.approx(3 * 3.10**2 + 0.50**2, abs=1e-12)
    assert line_a.sum_right2_m2 == pytest.approx(3 * 1.20**2 + 2.00**2, abs=1e-12)
    assert line_a.sum_product_m2 == pytest.approx(3 * 3.10 * -1.20 - 0.50 * 2.00, abs=1e-12)
    assert (line_b.variant, line_b.tries) == ("B", 1)

    cells_a, cells_b = tally.cells
    assert (cells_a.line_key, cells_b.line_key) == (A, B)
    assert cells_a.names == (("7-iron", "forged"), ("7-iron", "plain"))
    assert cells_a.same_grade("7-iron", "plain").tolist() == [False, True]
    assert cells_a.tries.tolist() == [4, 1]
    assert cells_a.holed.tolist() == [1, 0]
    assert cells_a.measured.tolist() == [3, 1]
    assert cells_a.along_mps == pytest.approx([-4 * 0.89408, -5 * 0.89408])
    assert cells_a.right_mps == pytest.approx([2 * 0.89408, 2 * 0.89408])
    assert cells_a.sum_long_m == pytest.approx([2 * 3.10 - 0.50, 3.10])
    assert cells_a.sum_right_m == pytest.approx([2 * -1.20 + 2.00, -1.20])
    assert cells_a.sum_long2_m2 == pytest.approx([2 * 3.10**2 + 0.25, 3.10**2])
    assert cells_a.sum_right2_m2 == pytest.approx([2 * 1.44 + 4.00, 1.44])
    assert cells_a.sum_product_m2 == pytest.approx([2 * -3.72 - 1.00, -3.72])
    assert cells_a.rows.dtype == np.int64


async def test_calm_is_the_middle_of_a_cell(db: Database) -> None:
    results = Results(db)
    for number, wind in enumerate([(440, -440), (-440, 440), (0, 0), (450, 0)]):
        await add(results, dataclasses.replace(MISS, wind_mmps=wind), 80 + number)
    (cells,) = (await Tallies(db).of_hole(HERE, HOLE)).cells
    rows = sorted(zip(cells.along_mps.tolist(), cells.tries.tolist(), strict=True))
    assert rows == [(0.0, 3), (pytest.approx(0.89408), 1)]


async def test_without_a_wind_a_result_is_in_the_line_but_in_no_cell(db: Database) -> None:
    await add(Results(db), dataclasses.replace(MISS, wind_mmps=None), 90)
    tally = await Tallies(db).of_hole(HERE, HOLE)
    assert [line.tries for line in tally.lines] == [1] and tally.cells == []


async def test_a_hole_nobody_played_is_empty(db: Database) -> None:
    tally = await Tallies(db).of_hole(HERE, HOLE)
    assert tally.lines == [] and tally.cells == []
    assert await Tallies(db).of_holes(HERE, []) == []


async def test_the_lines_of_several_holes(db: Database) -> None:
    results = Results(db)
    for number, (hole, line) in enumerate([("h9", "h9/B"), ("h2", "h2/A"), ("h9", "h9/A")]):
        played = dataclasses.replace(MISS, hole_key=hole, line_key=line)
        await add(results, played, 100 + number)
    many = ["h2", *(f"other {i}" for i in range(1200)), "h9"]
    lines = await Tallies(db).of_holes(HERE, many)
    assert [(line.hole_key, line.line_key) for line in lines] == [
        ("h2", "h2/A"),
        ("h9", "h9/A"),
        ("h9", "h9/B"),
    ]
    assert await Tallies(db).of_holes(ELSEWHERE, many) == []


async def test_a_correction_replaces_what_was_counted(db: Database, clock: HandClock) -> None:
    results = Results(db)
    first = (await add(results, MISS, 111)).result
    clock.advance(seconds=40)
    right = dataclasses.replace(MISS, miss_cm=(90, 15), wind_mmps=(0, -900), grade="plain")
    corrected = await results.correct(first.id, right, interaction_id=112)
    assert corrected is not None and corrected.counted
    new = corrected.result
    assert (new.edition, new.attempt, new.supersedes, new.origin_id) == (1, 1, first.id, first.id)
    assert (new.member_id, new.author_name, new.created_at) == (ANN, "Ann", clock.time)
    tally = await Tallies(db).of_hole(HERE, HOLE)
    assert (tally.lines[0].tries, tally.lines[0].sum_long_m) == (1, 0.9)
    assert tally.cells[0].names == (("7-iron", "plain"),)
    old, current = await results.editions(first.id)
    assert (old.played, old.removed_at, current) == (MISS, clock.time, new)
    assert await results.standing(first.id) == await results.standing(new.id) == new


async def test_a_correction_delivered_twice_counts_once(db: Database) -> None:
    results = Results(db)
    first = (await add(results, MISS, 121)).result
    twice = [await results.correct(first.id, HOLED, interaction_id=122) for _ in range(2)]
    assert [one.counted for one in twice if one] == [True, False]
    assert twice[0] is not None and twice[1] is not None and twice[0].result == twice[1].result
    third = await results.correct(first.id, MISS, interaction_id=123)
    assert third is not None and third.result.edition == 2
    (line,) = (await Tallies(db).of_hole(HERE, HOLE)).lines
    assert (line.tries, line.holed) == (1, 0)


async def test_a_correction_does_not_change_the_line(db: Database) -> None:
    results = Results(db)
    first = (await add(results, MISS, 131)).result
    with pytest.raises(ValueError, match="stays on its line"):
        elsewhere = dataclasses.replace(MISS, line_key=B)
        await results.correct(first.id, elsewhere, interaction_id=132)
    assert await results.standing(first.id) == first


async def test_a_removed_result_leaves_no_trace_in_the_sums(db: Database, clock: HandClock) -> None:
    results = Results(db)
    first = (await add(results, MISS, 141)).result
    corrected = await results.correct(first.id, HOLED, interaction_id=142)
    assert corrected is not None
    assert await results.remove(first.id) is True
    assert await results.remove(corrected.result.id) is False
    tally = await Tallies(db).of_hole(HERE, HOLE)
    assert tally.lines == [] and tally.cells == []
    assert await VectorSums(db).all(HERE, "gain") == {}
    assert await results.correct(first.id, MISS, interaction_id=143) is None
    assert [edition.removed_at for edition in await results.editions(first.id)] == [
        clock.time,
        clock.time,
    ]
    assert await results.remove(987_654) is False
    assert await results.next_attempt(HERE, A, ANN) == 2


async def test_vectors_are_summed_and_taken_out_exactly(db: Database) -> None:
    results, sums = Results(db), VectorSums(db)
    tenth = dataclasses.replace(MISS, parts=(Part("gain", "x", (0.1, 1e6, -3.0)),))
    other = dataclasses.replace(
        MISS, parts=(Part("gain", "x", (1e9, 0.25, 2.0)), Part("gain", "y", (7.0,)))
    )
    await add(results, tenth, 151)
    alone = await sums.get(HERE, "gain", "x")
    assert alone == pytest.approx((0.1, 1e6, -3.0), abs=2**-31)
    big = (await add(results, other, 152)).result
    assert await sums.get(HERE, "gain", "x") == pytest.approx((1e9 + 0.1, 1e6 + 0.25, -1.0))
    assert set(await sums.all(HERE, "gain")) == {"x", "y"}
    await results.remove(big.id)
    assert await sums.all(HERE, "gain") == {"x": alone}
    assert await sums.get(ELSEWHERE, "gain", "x") is None
    assert await sums.get(HERE, "other", "x") is None


async def test_a_vector_of_another_length_is_refused_whole(db: Database) -> None:
    results = Results(db)
    await add(results, MISS, 161)
    with pytest.raises(ValueError, match=r"zip\(\)"):
        short = dataclasses.replace(MISS, parts=(Part("gain", "7-iron/forged", (1.0,)),))
        await add(results, short, 162)
    (line,) = (await Tallies(db).of_hole(HERE, HOLE)).lines
    assert line.tries == 1 and len(await results.page(HERE)) == 1


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_what_cannot_be_summed_is_refused(bad: float) -> None:
    for change in ({"weight": bad}, {"share": bad}, {"parts": (Part("gain", "x", (1.0, bad)),)}):
        with pytest.raises(ValueError, match="not finite"):
            dataclasses.replace(MISS, **change)
    with pytest.raises(ValueError, match="two parts"):
        dataclasses.replace(MISS, parts=(Part("g", "x", (1.0,)), Part("g", "x", (2.0,))))


async def test_lists_of_results_are_newest_first_and_of_what_stands(db: Database) -> None:
    results = Results(db)
    on_b = dataclasses.replace(MISS, line_key=B, variant="B")
    a1 = (await add(results, MISS, 171)).result
    b1 = (await add(results, on_b, 172)).result
    a2 = (await add(results, HOLED, 173)).result
    other = (await add(results, MISS, 174, BEN)).result
    await results.remove(b1.id)
    b2 = (await add(results, on_b, 175)).result
    assert [r.id for r in await results.of_member(HERE, ANN)] == [b2.id, a2.id, a1.id]
    assert [r.id for r in await results.of_member(HERE, ANN, line_key=B)] == [b2.id]
    assert await results.of_member(ELSEWHERE, ANN) == []
    first = await results.page(HERE, limit=2)
    rest = await results.page(HERE, after_id=first[-1].id)
    assert [r.id for r in (*first, *rest)] == [a1.id, a2.id, other.id, b2.id]


async def test_a_page_of_one_club(db: Database) -> None:
    results = Results(db)
    ids = [
        (await add(results, dataclasses.replace(MISS, club=club), 181 + n)).result.id
        for n, club in enumerate(("driver", "7-iron", "driver", "wedge", "driver"))
    ]
    first = await results.page(HERE, club="driver", limit=2)
    rest = await results.page(HERE, club="driver", after_id=first[-1].id, limit=2)
    assert [r.id for r in (*first, *rest)] == [ids[0], ids[2], ids[4]]


async def test_the_last_of_a_club_stand_oldest_first_and_without_their_parts(db: Database) -> None:
    results = Results(db)
    kept = [
        (await add(results, dataclasses.replace(MISS, club=club), 181 + n)).result
        for n, club in enumerate(("driver", "driver", "7-iron", "driver", "driver"))
    ]
    await results.remove(kept[3].id)
    found = await results.last_of_club(HERE, "driver", limit=2)
    assert [r.id for r in found] == [kept[1].id, kept[4].id]
    assert found[0].played == dataclasses.replace(kept[1].played, parts=())
    assert kept[1].played.parts


async def test_what_is_learned_has_a_version_that_moves_with_it(db: Database) -> None:
    results, versions = Results(db), Versions(db)
    bare = Played(hole_key=HOLE, line_key=B, variant="B", holed=True)
    await add(results, bare, 191)
    assert await versions.of(HERE) == {}
    kept = (await add(results, MISS, 192)).result
    await results.correct(kept.id, HOLED, interaction_id=193)
    assert await versions.of(HERE) == {"belief": 2}
    await results.remove(kept.id)  # a holed shot taught nothing
    assert await versions.of(HERE) == {"belief": 2} and await versions.of(ELSEWHERE) == {}
