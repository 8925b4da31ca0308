"""What a poll came to: who won by the votes, and what the results say. Knows no Discord."""

from dataclasses import dataclass

from bot.services.results.outcome import tries_words
from bot.services.verdicts.words import chance_words, row_of
from engine import verdict as judged
from engine.verdict import LineRow, Verdict
from shared.wording import listed, plural


@dataclass(frozen=True)
class Row:
    """One answer: its votes, and for a line its results.

    ``name`` is short, to be used in a sentence. ``result`` is what the verdict on the hole says of
    the line; None where it knows none of that letter.
    """

    label: str
    name: str
    votes: int
    result: LineRow | None = None


@dataclass(frozen=True)
class Outcome:
    """All answers, in the poll's order; ``on_lines``: they are lines of a hole.

    ``verdict`` is that on all the hole's lines, also those shared since; None where it isn't known.
    """

    rows: tuple[Row, ...]
    voters: int
    on_lines: bool
    verdict: Verdict | None = None

    @property
    def winners(self) -> tuple[Row, ...]:
        """Those with the most votes; none where nobody voted."""
        most = max((row.votes for row in self.rows), default=0)
        return tuple(row for row in self.rows if most and row.votes == most)

    @property
    def tried(self) -> bool:
        """Whether anybody has tried a line of the hole that is in play."""
        return self.verdict is not None and self.verdict.tries > 0

    @property
    def named(self) -> tuple[str, ...]:
        """The lines that the results speak for; none where they speak for none."""
        return self.verdict.lines if self.verdict is not None else ()


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
    found = outcome.verdict
    if found is None or not found.tries:
        return "No result is logged for these lines yet: the votes stand alone."
    tries = tries_words(round(found.tries))
    if found.outcome is judged.Outcome.NONE:
        return f"The results name no line yet, after {tries} in all."
    if found.outcome is judged.Outcome.EQUAL:
        return f"The results call {listed(found.lines, 'and')} about equal, after {tries} in all."
    name, row = found.lines[0], row_of(found, found.lines[0])
    assert row is not None
    ahead = f"holed {row.holed:g} of {row.tries:g}, {chance_words(found.chance)} to be the best"
    if found.outcome is judged.Outcome.LEADS:
        return f"By the results {name} leads: {ahead}."
    return f"The results speak for {name}: {ahead}."


def agreement(outcome: Outcome) -> str:
    """Whether votes and results say the same; empty where one of them says nothing."""
    voted, named = [row.name for row in outcome.winners], outcome.named
    if not voted or not named or not outcome.on_lines:
        return ""
    if set(voted) <= set(named):
        return "Votes and results agree."
    leaning = listed(named, "and")
    if set(named) <= set(voted):
        return f"Of the tied, the results lean to {leaning}."
    return f"The votes say {listed(voted, 'and')}, the results lean to {leaning}."
