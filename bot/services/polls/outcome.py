"""What a poll came to: who won by the votes, and what the results say. Knows no Discord."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.variants import compare_variants, pooled_prior, rate_posteriors
from shared.wording import listed, plural

FEW_TRIES = 5  # a judgement: below it an interval of the rate spans more than half of all rates
LIKELY = 0.8  # a judgement: from here on the results are said to speak for a line

NEARLY_SURE = 0.99  # no number of tries makes it a certainty


@dataclass(frozen=True)
class Row:
    """One answer: its votes, and for a line its results.

    ``name`` is short, to be used in a sentence. ``best``: chance to hole most often of the poll's
    lines; None where nobody has logged a try.
    """

    label: str
    name: str
    votes: int
    tries: int = 0
    holed: int = 0
    best: float | None = None


@dataclass(frozen=True)
class Outcome:
    """All answers, in the poll's order; ``on_lines``: they are the lines of a hole."""

    rows: tuple[Row, ...]
    voters: int
    on_lines: bool

    @property
    def winners(self) -> tuple[Row, ...]:
        """Those with the most votes; none where nobody voted."""
        most = max((row.votes for row in self.rows), default=0)
        return tuple(row for row in self.rows if most and row.votes == most)

    @property
    def leader(self) -> Row | None:
        """The line with results that they speak for most; None without results."""
        known = [row for row in self.rows if row.best is not None and row.tries]
        return max(known, key=lambda row: row.best or 0.0, default=None)


def chances(tries: Sequence[int], holed: Sequence[int]) -> list[float | None]:
    """The chance of each line to be the best; None for all where nobody has tried any.

    Beta posteriors on the lines' own average rate as prior, worth two tries.
    """
    if not sum(tries):
        return [None] * len(tries)
    made, tried = np.asarray(holed, dtype=np.float64), np.asarray(tries, dtype=np.float64)
    rates = rate_posteriors(made, tried, prior=pooled_prior(float(made.sum()), float(tried.sum())))
    return [float(chance) for chance in compare_variants(rates).best]


def headline(outcome: Outcome) -> str:
    """The winner in one line: 'B: the safe one wins: 4 of 6 voters'."""
    winners = outcome.winners
    if not winners:
        return "Nobody voted"
    share = f"{winners[0].votes} of {plural(outcome.voters, 'voter')}"
    if len(winners) == 1:
        return f"{winners[0].label} wins: {share}"
    return f"A tie between {listed([row.name for row in winners], 'and')}: {share} each"


def results_words(outcome: Outcome) -> str:
    """What the results say, in words before any number; empty for a poll that is on no lines."""
    if not outcome.on_lines:
        return ""
    leader = outcome.leader
    if leader is None or leader.best is None:
        return "No result is logged for these lines yet: the votes stand alone."
    sure = "an over 99%" if leader.best > NEARLY_SURE else f"a {leader.best:.0%}"
    chance = f"{sure} chance to be the best of these"
    ahead = f"{leader.name} (holed {leader.holed} of {leader.tries}) has {chance}"
    if min(row.tries for row in outcome.rows) < FEW_TRIES:
        tries = sum(row.tries for row in outcome.rows)
        return f"Too few tries to be sure, {tries} in all: {ahead}."
    if leader.best < LIKELY:
        return f"The results do not tell these lines apart yet: {ahead}."
    return f"The results speak for {leader.name}: holed {leader.holed} of {leader.tries}, {chance}."


def agreement(outcome: Outcome) -> str:
    """Whether votes and results say the same; empty where one of them says nothing."""
    leader, winners = outcome.leader, outcome.winners
    if leader is None or not winners:
        return ""
    if leader in winners and len(winners) == 1:
        return "Votes and results agree."
    if leader in winners:
        return f"Of the tied, the results lean to {leader.name}."
    voted = listed([row.name for row in winners], "and")
    return f"The votes say {voted}, the results lean to {leader.name}."
