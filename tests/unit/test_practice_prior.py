"""Computed chances before tries: what they add where they are right, and where they say nothing."""

from itertools import pairwise

import numpy as np
import pytest

from engine.practice import PracticeHole, plan_practice
from engine.practice_prior import DISCREPANCY, ComputedChance, with_computed
from shared.errors import EngineError

HOLES, LINES, ENTRIES = 4, 3, 12


def plain(lines: int = LINES, name: str = "4") -> PracticeHole:
    """Untried lines as the group believes of all of them: .25, as from six tries."""
    return PracticeHole(name, np.full(lines, 1.5), np.full(lines, 4.5), plays=2.0)


def beliefs(hole: PracticeHole) -> tuple[np.ndarray, np.ndarray]:
    """Means and standard deviations."""
    a, b = np.asarray(hole.a, float), np.asarray(hole.b, float)
    mean = a / (a + b)
    return mean, np.sqrt(mean * (1 - mean) / (a + b + 1))


def test_a_chance_moves_a_line_against_its_holes_others_and_its_level_counts_for_nothing() -> None:
    low = [ComputedChance(c, 0.1 * c) for c in (0.02, 0.04, 0.01)]
    odds = [6 * c.chance / (1 - c.chance) for c in low]
    high = [ComputedChance(o / (1 + o), 0.1 * o / (1 + o) ** 2) for o in odds]
    mean, sd = beliefs(with_computed(plain(), low))
    assert mean[1] > mean[0] > mean[2]
    assert mean[1] > 0.27 and mean[2] < 0.23
    assert (sd < beliefs(plain())[1]).all()
    again, _ = beliefs(with_computed(plain(), high))
    assert again == pytest.approx(mean, abs=0.006)


def test_precisions_add_up_on_the_logit() -> None:
    """Against the arithmetic of two normals, one line's chance very unsure."""
    chances = [ComputedChance(0.2, 0.01), ComputedChance(0.2, 0.16)]
    hole = PracticeHole("4", [30.0, 60.0], [70.0, 40.0])
    mean, _ = beliefs(with_computed(hole, chances))
    logit = np.log([0.3 / 0.7, 0.6 / 0.4])
    own = np.array([0.3 * 0.7 * 101, 0.6 * 0.4 * 101])
    told = 1 / np.array([(0.01 / 0.16) ** 2 + DISCREPANCY**2, 1.0 + DISCREPANCY**2])
    wanted = (own * logit + told * logit.mean()) / (own + told)
    assert mean == pytest.approx(1 / (1 + np.exp(-wanted)), abs=1e-9)


def test_nothing_or_one_alone_changes_nothing_and_lines_without_one_keep_theirs() -> None:
    hole = plain()
    assert with_computed(hole, [None, ComputedChance(0.3, 0.1), None]) is hole
    some = with_computed(hole, [None, ComputedChance(0.3, 0.02), ComputedChance(0.1, 0.02)])
    assert (np.asarray(some.a)[0], np.asarray(some.b)[0]) == (1.5, 4.5)
    assert some.plays == 2.0 and some.hole == "4"
    with pytest.raises(EngineError, match="every line"):
        with_computed(hole, [None, None])


def test_entries_go_to_the_line_whose_chance_is_least_sure() -> None:
    """Lines alike in all but how sure their chance is: the rest of the plan gets its tries last."""
    for least in range(LINES):
        chances = [ComputedChance(0.2, 0.12 if n == least else 0.01) for n in range(LINES)]
        hole = with_computed(plain(), chances)
        plan = plan_practice([hole], 6)
        assert plan.allocations[0].variant == least
        assert plan.allocations[0].tries >= 4
    sure = with_computed(plain(name="3"), [ComputedChance(c, 0.01) for c in (0.3, 0.1, 0.02)])
    open_ = with_computed(plain(name="9"), [ComputedChance(c, 0.1) for c in (0.3, 0.29, 0.28)])
    assert plan_practice([sure, open_], 8).allocations[0].hole == "9"


def played(rng: np.random.Generator, *, truth: float, plans: int) -> tuple[float, float]:
    """Holes holed a round after 12 entries, planned without and with computed chances; ``truth``
    is how much of a line's own share in its rate they know. Their level is off and their error has
    heavy tails, neither of which is in the model."""
    without = along = 0.0
    for _ in range(plans):
        own = rng.normal(0.0, 0.7, (HOLES, LINES))
        level = rng.normal(-1.2, 0.4, (HOLES, 1))
        rate = 1 / (1 + np.exp(-(level + own)))
        logit_sd = rng.uniform(0.1, 0.9, (HOLES, LINES))
        said = rng.normal(-2.5, 0.3) + truth * own + logit_sd * rng.laplace(0, 0.5**0.5, own.shape)
        chance = 1 / (1 + np.exp(-said))
        sd = logit_sd * chance * (1 - chance)
        holes = [plain(name=str(n)) for n in range(HOLES)]
        computed = [
            with_computed(hole, [ComputedChance(*each) for each in zip(*row, strict=True)])
            for hole, *row in zip(holes, chance.tolist(), sd.tolist(), strict=True)
        ]
        dice = rng.random((HOLES, LINES, ENTRIES))
        without += _after(holes, rate, dice)
        along += _after(computed, rate, dice)
    return without / plans, along / plans


def _after(holes: list[PracticeHole], rate: np.ndarray, dice: np.ndarray) -> float:
    """What a round holes where everybody plays the line that then looks best."""
    tries = np.zeros(rate.shape, dtype=int)
    for each in plan_practice(holes, ENTRIES).allocations:
        tries[int(each.hole), each.variant] += each.tries
    total = 0.0
    for number, hole in enumerate(holes):
        holed = [
            (dice[number, k, : tries[number, k]] < rate[number, k]).sum() for k in range(LINES)
        ]
        a, b = np.asarray(hole.a) + holed, np.asarray(hole.b) + tries[number] - holed
        total += rate[number, int(np.argmax(a / (a + b)))]
    return total


def test_where_chances_know_something_more_is_holed_and_where_they_know_nothing_hardly_less() -> (
    None
):
    rng = np.random.default_rng(21)
    gains: list[float] = []
    for truth in (0.0, 0.5, 1.0):
        without, along = played(rng, truth=truth, plans=50)
        gains.append(along - without)
    assert all(less < more for less, more in pairwise(gains)), gains
    assert gains[2] > 0.12 and gains[1] > 0.05, gains
    assert gains[0] > -0.12, gains
