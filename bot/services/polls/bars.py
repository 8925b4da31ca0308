"""A poll's outcome as pictures: its answers by their votes, its lines by what went in."""

from bot.drawing.trust_scene import Bar, BarsScene
from bot.services.compare.bars import Tried, tried_bars
from bot.services.polls.outcome import Outcome
from engine.intervals import CONFIDENCE, wilson_interval
from shared.text import clipped
from shared.wording import plural

LONGEST_QUESTION = 80


def poll_bars(question: str, outcome: Outcome) -> tuple[BarsScene, ...]:
    """What an outcome looks like: the votes if anybody voted, then the results if it is on lines
    and two of them were tried."""
    rows = [Tried(row.label, row.result) for row in outcome.rows if row.result is not None]
    results = tried_bars("What went in", rows) if outcome.on_lines else None
    votes = _votes(clipped(question, LONGEST_QUESTION), outcome) if outcome.voters else None
    return tuple(scene for scene in (votes, results) if scene is not None)


def _votes(question: str, outcome: Outcome) -> BarsScene:
    votes, voters = [row.votes for row in outcome.rows], outcome.voters
    found = wilson_interval(votes, [voters] * len(votes))
    return BarsScene(
        title="The votes",
        subtitle=f"{question} · share of {plural(voters, 'voter')}",
        bars=tuple(
            Bar(
                label=row.label,
                value=row.votes / voters,
                low=float(found.low[at]),
                high=float(found.high[at]),
                note=plural(row.votes, "vote"),
            )
            for at, row in enumerate(outcome.rows)
        ),
        interval=f"{CONFIDENCE:.0%} interval, were the voters a sample",
    )
