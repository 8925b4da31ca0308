"""The law in a process of its own: the same answers, whatever becomes of the process."""

import os
import signal
import time
from collections.abc import Iterator

import numpy as np
import pytest

from bot.services.caddie.caddie import Asked, Caddie, batch, choose
from bot.services.caddie.law_worker import LawWorker
from bot.services.wind.service import answer_all
from engine.law import Shots
from shared.bag import Bag
from shared.errors import EngineError
from shared.shot_text import parse
from tests.kits import demo_caddie

CADDIE = demo_caddie()
QUESTIONS = ("8 mph from 2, 5-iron, 165", "12 mph from 10, driver, 215", "9 mph into, 5-iron, 400")


def asked(*texts: str) -> list[tuple[Caddie, Asked]]:
    bag = Bag()
    shots = [parse(text, kit=CADDIE.kit, units=bag.units, bag=bag) for text in texts]
    return [(CADDIE, Asked(shot, bag)) for shot in shots]


def shots() -> Shots:
    found = [each.shot for _, each in asked(*QUESTIONS)]
    choices = [choose(shot=shot, bag=None, kit=CADDIE.kit) for shot in found]
    return batch(shots=found, choices=choices, kit=CADDIE.kit, kit_rack=CADDIE.kit_rack)


def up(worker: LawWorker) -> None:
    """Wait until the process answers."""
    until = time.monotonic() + 60
    while not worker.is_up:
        assert time.monotonic() < until
        time.sleep(0.02)


@pytest.fixture
def worker() -> Iterator[LawWorker]:
    made = LawWorker(rest_s=0.0)
    made.start()
    up(made)
    yield made
    made.close()


def test_a_process_answers_as_the_law_does_here(
    worker: LawWorker, monkeypatch: pytest.MonkeyPatch
) -> None:
    there, beside = CADDIE.allow(shots(), worker), CADDIE.allow(shots())
    np.testing.assert_array_equal(there.row, beside.row)
    for name in ("long_m", "right_m", "sd_long_m", "plays_m", "most_m", "verdict", "answered"):
        np.testing.assert_array_equal(getattr(there, name), getattr(beside, name))
    # and nothing of it was computed here
    monkeypatch.setattr("engine.finish_law.allow", None)
    assert CADDIE.allow(shots(), worker).long_m.shape == (3,)


def test_questions_by_way_of_the_process_have_the_same_answers(worker: LawWorker) -> None:
    there = answer_all(asked(*QUESTIONS), worker)
    fresh = Caddie(CADDIE.kit, kit_rack=CADDIE.kit_rack)
    beside = answer_all([(fresh, each) for _, each in asked(*QUESTIONS)])
    assert there[:2] == beside[:2]
    assert type(there[2]) is type(beside[2]) and str(there[2]) == str(beside[2])


def test_a_process_answers_of_balls_that_finish_too(worker: LawWorker) -> None:
    texts = ("8 mph from 2, 5-iron, 165, onto green", "8 mph from 2, 5-iron, 160")
    found = [each.shot for _, each in asked(*texts)]
    choices = [choose(shot=shot, bag=None, kit=CADDIE.kit) for shot in found]
    both = batch(shots=found, choices=choices, kit=CADDIE.kit, kit_rack=CADDIE.kit_rack)
    there, beside = CADDIE.allow(both, worker), CADDIE.allow(both)
    assert there.runs is not None and beside.runs is not None
    np.testing.assert_array_equal(there.long_m, beside.long_m)
    np.testing.assert_array_equal(there.runs.carry_m, beside.runs.carry_m)


def test_a_killed_process_costs_no_answer_and_a_new_one_comes(worker: LawWorker) -> None:
    first = worker.pid
    assert first is not None
    os.kill(first, signal.SIGKILL)
    found = CADDIE.allow(shots(), worker)
    np.testing.assert_array_equal(found.long_m, CADDIE.allow(shots()).long_m)
    assert worker.pid not in (None, first)
    up(worker)
    np.testing.assert_array_equal(CADDIE.allow(shots(), worker).long_m, found.long_m)


def test_a_process_that_cannot_live_is_not_begun_for_every_question() -> None:
    made = LawWorker(rest_s=60.0)
    made.start()
    up(made)
    assert made.pid is not None
    os.kill(made.pid, signal.SIGKILL)
    for _ in range(2):
        assert CADDIE.allow(shots(), made).answered.sum() == 2
        assert made.pid is None
    made.close()


def test_what_has_no_answer_is_refused_here_and_the_process_goes_on(worker: LawWorker) -> None:
    wild = shots().with_wind(wind_mps=np.full(3, np.nan), wind_from_deg=np.zeros(3))
    first = worker.pid
    with pytest.raises(EngineError, match="finite"):
        CADDIE.allow(wild, worker)
    assert CADDIE.allow(shots(), worker).answered.sum() == 2
    assert worker.pid == first


def test_closed_or_never_started_it_computes_here() -> None:
    worker = LawWorker()
    before = CADDIE.allow(shots(), worker).long_m
    worker.close()
    worker.start()
    assert worker.pid is None
    np.testing.assert_array_equal(CADDIE.allow(shots(), worker).long_m, before)
