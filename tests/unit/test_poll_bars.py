"""A poll's outcome as bars: its votes, and what went in where lines were tried; kept as numbers."""

import json

import pytest

from bot.chat.publisher import body_of
from bot.services.compare.bars import Tried, hole_bars
from bot.services.pictures.stored import bars_in, with_bars
from bot.services.polls.bars import poll_bars
from bot.services.polls.outcome import Outcome, Row
from engine.verdict import LineRow


def result(name: str, tries: int, holed: int) -> LineRow:
    rate = (holed + 1) / (tries + 3)
    return LineRow(name, holed, tries, 3, rate, rate / 2, (1 + rate) / 2, 0.4)


def test_every_answer_has_its_votes_and_every_line_that_was_tried_its_rate() -> None:
    rows = (
        Row("A: low", "A", 4, result("A", 20, 9)),
        Row("B: high", "B", 1, result("B", 11, 2)),
        Row("C: odd", "C", 2),
    )
    votes, results = poll_bars("Hole 3: which?", Outcome(rows, 7, on_lines=True))
    assert votes.title == "The votes" and votes.subtitle == "Hole 3: which? · share of 7 voters"
    assert [(bar.label, bar.note) for bar in votes.bars] == [
        ("A: low", "4 votes"),
        ("B: high", "1 vote"),
        ("C: odd", "2 votes"),
    ]
    assert [bar.value for bar in votes.bars] == pytest.approx([4 / 7, 1 / 7, 2 / 7])
    assert [(bar.label, bar.note) for bar in results.bars] == [
        ("A: low", "9 of 20 holed"),
        ("B: high", "2 of 11 holed"),
    ]
    for bar, answer in zip(results.bars, rows, strict=False):  # as the verdict says it
        row = answer.result
        assert row is not None
        assert (bar.value, bar.low, bar.high) == pytest.approx((row.rate, row.low, row.high))
    assert results.subtitle == "31 tries of the group" and "hole-out rate" in results.interval


def test_votes_are_shares_of_the_voters_with_wilsons_interval() -> None:
    rows = (Row("early", "early", 0), Row("late", "late", 20))
    (scene,) = poll_bars("When?", Outcome(rows, 20, on_lines=False))
    early, late = scene.bars
    assert (early.value, early.low, late.value, late.high) == (0.0, 0.0, 1.0, 1.0)
    # Wilson at 0 of n is z^2 / (n + z^2); z = 1.644854 for 90% (C)
    assert early.high == pytest.approx(1.644854**2 / (20 + 1.644854**2), abs=5e-5)
    assert late.note == "20 votes"


def test_results_are_shown_where_nobody_voted() -> None:
    rows = (Row("A: low", "A", 0, result("A", 3, 1)), Row("B: high", "B", 0, result("B", 4, 3)))
    (scene,) = poll_bars("Which?", Outcome(rows, 0, on_lines=True))
    assert [bar.note for bar in scene.bars] == ["1 of 3 holed", "3 of 4 holed"]
    assert poll_bars("Which?", Outcome(rows, 0, on_lines=False)) == ()


@pytest.mark.parametrize("on_lines", [True, False])
def test_where_nobody_voted_or_tried_there_is_nothing_to_draw(on_lines: bool) -> None:
    rows = (Row("A: low", "A", 0, result("A", 3, 1)), Row("B: high", "B", 0))
    assert poll_bars("Which?", Outcome(rows, 0, on_lines=on_lines)) == ()


def test_the_picture_is_kept_as_numbers_and_comes_back_the_same() -> None:
    scene = hole_bars(4, [Tried("A · low", result("A", 20, 9)), Tried("B", result("B", 11, 2))])
    assert scene is not None and scene.title == "Hole 4: which line to take"
    kept = json.loads(json.dumps(with_bars(body_of(buttons=[]), (scene,))))
    assert bars_in(kept) == (scene,)
    assert bars_in(with_bars(body_of(buttons=[]), ())) == ()


def test_one_tried_line_alone_is_no_comparison() -> None:
    assert hole_bars(4, [Tried("A", result("A", 20, 9)), Tried("B", result("B", 0, 0))]) is None
