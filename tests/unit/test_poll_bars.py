"""A poll's outcome as bars: by results where lines were tried, else by votes; kept as numbers."""

import json

import pytest

from bot.compare.bars import Tried, hole_bars
from bot.compare.desk import rated
from bot.polls.bars import bars_json, poll_bars
from bot.polls.outcome import Outcome, Row
from bot.post.postman import bars_in
from engine.variants import MissSums

NO_MISS = MissSums(0, 0, 0, 0, 0, 0, 0)


def test_lines_that_were_tried_are_shown_by_what_went_in_with_their_votes() -> None:
    rows = (Row("A: low", "A", 4, 20, 9), Row("B: high", "B", 1, 11, 2), Row("C: odd", "C", 2))
    scene = poll_bars("Hole 3: which?", Outcome(rows, 7, on_lines=True))
    assert scene is not None
    assert [bar.label for bar in scene.bars] == ["A: low", "B: high"]
    assert [bar.note for bar in scene.bars] == ["4 votes · 9 of 20 holed", "1 vote · 2 of 11 holed"]
    expected = rated([20.0, 11.0], [9.0, 2.0], [NO_MISS, NO_MISS])  # as /compare says it
    for bar, row in zip(scene.bars, expected, strict=True):
        assert (bar.value, bar.low, bar.high) == pytest.approx((row.rate, row.low, row.high))
    assert scene.subtitle == "31 tries of the group" and "hole-out rate" in scene.interval


def test_without_results_the_votes_are_shown_as_shares_with_wilsons_interval() -> None:
    rows = (Row("early", "early", 0), Row("late", "late", 20))
    scene = poll_bars("When?", Outcome(rows, 20, on_lines=False))
    assert scene is not None
    early, late = scene.bars
    assert (early.value, early.low, late.value, late.high) == (0.0, 0.0, 1.0, 1.0)
    assert early.high == pytest.approx(0.1611, abs=5e-5)  # 0/20, Newcombe 1998
    assert late.note == "20 votes" and scene.subtitle.startswith("20 voters")


@pytest.mark.parametrize("on_lines", [True, False])
def test_where_nobody_voted_or_tried_there_is_nothing_to_draw(on_lines: bool) -> None:
    rows = (Row("A: low", "A", 0, 3, 1), Row("B: high", "B", 0))
    assert poll_bars("Which?", Outcome(rows, 0, on_lines=on_lines)) is None


def test_the_picture_is_kept_as_numbers_and_comes_back_the_same() -> None:
    scene = hole_bars(4, [Tried("A · low", 20, 9), Tried("B", 11, 2, "1 vote")])
    assert scene is not None and scene.title == "Hole 4: which line to take"
    kept = json.loads(json.dumps({"embeds": [], "bars": bars_json(scene)}))
    assert bars_in(kept) == scene
    assert bars_in({"embeds": []}) is None


def test_one_tried_line_alone_is_no_comparison() -> None:
    assert hole_bars(4, [Tried("A", 20, 9), Tried("B", 0, 0)]) is None
