"""The demo's cup: whole, playable, and its tested allowances near what the engine computes."""

import math

import pytest

from bot.services.book.reading import read_hole
from bot.services.caddie.caddie import Caddie
from shared.book import Hole
from tests.unit.book_kit import demo_cup, demo_kit

KIT = demo_kit()
CUP = demo_cup(KIT)
CADDIE = Caddie(KIT)
VARIED = 0.10  # a tested allowance differs a little from a computed one
ROUNDED = 0.06  # marks, for tenths
ROLL = 20.0  # yards


def test_the_cup_has_nine_holes_for_two_divisions_and_two_rounds() -> None:
    assert len(CUP.holes) == 9
    assert sum(hole.par for hole in CUP.holes) == 36
    for hole in CUP.holes:
        known = {(wind.division, wind.round) for wind in hole.winds}
        assert known == {(d, r) for d in CUP.divisions for r in CUP.rounds}
        assert 2 <= len(hole.lines) <= 3
        assert hole.lines[0].status == "recommended"
        for division in CUP.divisions:
            assert any(not line.divisions or division in line.divisions for line in hole.lines)


@pytest.mark.parametrize("hole", CUP.holes, ids=lambda hole: str(hole.number))
def test_every_shot_is_computed_and_what_worked_is_near(hole: Hole) -> None:
    for reading in read_hole(caddie=CADDIE, hole=hole):
        for shot in reading.shots:
            assert shot.answer is not None, (hole.number, reading.line.variant, shot.trouble)
            if reading.line.status in ("tested", "recommended"):
                assert shot.shot.worked is not None
            if shot.shot.worked is not None:
                allowance = shot.answer.allowance
                off = math.hypot(
                    shot.shot.worked.right - allowance.right_marks,
                    shot.shot.worked.long - allowance.long_marks,
                )
                size = math.hypot(allowance.right_marks, allowance.long_marks)
                assert off <= VARIED * size + ROUNDED


@pytest.mark.parametrize("hole", CUP.holes, ids=lambda hole: str(hole.number))
def test_the_shots_of_a_line_lead_from_the_tee_to_the_hole(hole: Hole) -> None:
    """What a shot is to leave is what is left of the hole after carry and at most 20 yd of roll."""
    for reading in read_hole(caddie=CADDIE, hole=hole):
        if reading.line.status not in ("tested", "recommended"):
            continue
        near = far = hole.yards
        for shot in reading.shots[:-1]:
            assert shot.answer is not None and shot.shot.leaves_yd is not None
            carry = shot.answer.distance_yd
            least, most = shot.shot.leaves_yd
            assert near - carry - ROLL <= least < most <= far - carry
            near, far = least, most
        last = reading.shots[-1].answer
        assert last is not None
        assert near - ROLL <= last.distance_yd <= far
