"""Which line of a hole is best: the one verdict for every place that says it.

Lines are compared by the posteriors of ``engine.group_rates``, so that members who differ do not
make lines differ. Rates nearer to each other than EQUAL_WITHIN count as equal (a region of
practical equivalence, Kruschke 2018, M).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from engine.group_rates import (
    CELL_ENDS,
    RATES,
    GroupRates,
    LineRates,
    MemberTries,
    line_rates,
)
from engine.intervals import CONFIDENCE, Floats
from shared.errors import EngineError

EQUAL_WITHIN = 0.05  # a judgement: one hole-out in twenty tries, once a round for two whole groups
EQUAL_CHANCE = 0.5  # chance from which lines are called equal: more likely so than not
BEST_CHANCE = (1 + CONFIDENCE) / 2  # one side of a two-sided interval of this confidence
LEAD = 3.0  # a leader is this many times as likely to be best as any other line


class Outcome(Enum):
    """What can be said of a hole's lines."""

    NONE = "none yet"  # nothing went in, or no line is clearly ahead
    LEADS = "leads"
    EQUAL = "equal"
    BEST = "best"


@dataclass(frozen=True)
class TriedLine:
    """One line: its name, holed and tries by member, and whether it was retired."""

    name: str
    members: MemberTries
    retired: bool = False


@dataclass(frozen=True)
class LineRow:
    """One line's tries, expected rate over the group's members with its 90% interval.

    ``best`` is the chance that its rate is the highest of the lines in play, None where retired.
    """

    name: str
    holed: float
    tries: float
    members: int
    rate: float
    low: float
    high: float
    best: float | None


@dataclass(frozen=True)
class Verdict:
    """``lines`` are those the outcome speaks of, in the order given; none where it is NONE.

    ``chance`` is that of what is said: to be the best (LEADS, BEST), that each of the lines is
    within EQUAL_WITHIN of the first by rate (EQUAL, the least of them), 0 (NONE). ``rows`` has all
    lines in the order given, ``tries`` those of the lines in play.
    """

    outcome: Outcome
    lines: tuple[str, ...]
    chance: float
    tries: float
    rows: tuple[LineRow, ...]


def hole_verdict(lines: Sequence[TriedLine], group: GroupRates) -> Verdict:
    """Which line of a hole is best, from its tries by member and what the group is like.

    The leader is the line in play (not retired, something went in) with the highest expected rate.
    EQUAL where others are within EQUAL_WITHIN of it by a chance of EQUAL_CHANCE; else BEST where it
    is the best with BEST_CHANCE; else LEADS where it is LEAD times as likely to be best as any
    other line, untried ones included. One line alone leads and is never BEST.
    Raises EngineError for no line, a line named twice, or counts that cannot be.
    """
    if len({line.name for line in lines}) < len(lines):
        raise EngineError("each line must be given once")
    found = line_rates([line.members for line in lines], group)
    in_play = [i for i, line in enumerate(lines) if not line.retired]
    playing = LineRates(found.weight, found.theta[:, in_play])
    best = dict(zip(in_play, chances_to_be_best(playing).tolist(), strict=True)) if in_play else {}
    rows = _rows(lines, found, best)
    tries = sum(rows[i].tries for i in in_play)
    leading = [i for i in in_play if rows[i].holed > 0]
    if not leading:
        return Verdict(Outcome.NONE, (), 0.0, tries, rows)
    leader = max(leading, key=lambda i: rows[i].rate)
    near = chances_to_be_near(found, leader)
    equal = [i for i in in_play if i == leader or near[i] >= EQUAL_CHANCE]
    if len(equal) > 1:
        names = tuple(lines[i].name for i in equal)
        chance = min(float(near[i]) for i in equal if i != leader)
        return Verdict(Outcome.EQUAL, names, chance, tries, rows)
    rivals = [best[i] for i in in_play if i != leader]
    outcome = Outcome.NONE
    if rivals and best[leader] >= BEST_CHANCE:
        outcome = Outcome.BEST
    elif best[leader] >= LEAD * max(rivals, default=0.0):
        outcome = Outcome.LEADS
    if outcome is Outcome.NONE:
        return Verdict(outcome, (), 0.0, tries, rows)
    return Verdict(outcome, (lines[leader].name,), best[leader], tries, rows)


def chances_to_be_best(found: LineRates) -> Floats:
    """Chance that each line's rate is the highest; shape (lines,), sums to 1.

    Sum over rates of f_i prod_{j != i} F_j, given the hyperparameters; half of its own cell counts
    as below a rate.
    """
    below = np.cumsum(found.theta, axis=-1) - found.theta / 2
    edge = np.ones_like(below[:, :1])
    earlier = np.cumprod(np.concatenate([edge, below[:, :-1]], axis=1), axis=1)
    later = np.cumprod(np.concatenate([edge, below[:, :0:-1]], axis=1), axis=1)[:, ::-1]
    best = found.weight @ np.sum(found.theta * earlier * later, axis=-1)
    return best / np.sum(best)


def chances_to_be_near(found: LineRates, leader: int) -> Floats:
    """Chance that each line's rate is within EQUAL_WITHIN of the leader's; shape (lines,)."""
    low, high = _shares_below(RATES - EQUAL_WITHIN), _shares_below(RATES + EQUAL_WITHIN)
    near = found.theta[:, leader] @ (high - low)
    return np.einsum("h,ht,hlt->l", found.weight, near, found.theta)


def _shares_below(rates: Floats) -> Floats:
    """Share of each rate's cell that is below each of these rates; (rates, cells)."""
    return np.clip((rates[:, None] - CELL_ENDS[:-1]) / np.diff(CELL_ENDS), 0.0, 1.0)


def _rows(
    lines: Sequence[TriedLine], found: LineRates, best: dict[int, float]
) -> tuple[LineRow, ...]:
    low, high = found.interval()
    rate = found.mean
    return tuple(
        LineRow(
            name=line.name,
            holed=float(np.sum(np.asarray(line.members.holed, np.float64))),
            tries=float(np.sum(np.asarray(line.members.tries, np.float64))),
            members=int(np.count_nonzero(np.asarray(line.members.tries, np.float64))),
            rate=float(rate[i]),
            low=float(low[i]),
            high=float(high[i]),
            best=best.get(i),
        )
        for i, line in enumerate(lines)
    )
