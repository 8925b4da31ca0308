"""A poll's outcome as a picture: its lines by what went in, else its answers by their votes."""

from bot.cards.plain import clipped
from bot.compare.bars import Tried, tried_bars
from bot.pictures.trust_scene import Bar, BarsScene
from bot.polls.outcome import Outcome, Row
from bot.words import plural
from engine.intervals import CONFIDENCE, wilson_interval
from storage.json import Json, JsonObject

LONGEST_TITLE = 80


def poll_bars(question: str, outcome: Outcome) -> BarsScene | None:
    """What an outcome looks like; None where nobody voted and fewer than two lines were tried."""
    title = clipped(question, LONGEST_TITLE)
    tried = [Tried(row.label, row.tries, row.holed, _votes(row)) for row in outcome.rows]
    by_results = tried_bars(title, tried) if outcome.on_lines else None
    if by_results is not None or not outcome.voters:
        return by_results
    votes, voters = [row.votes for row in outcome.rows], outcome.voters
    found = wilson_interval(votes, [voters] * len(votes))
    return BarsScene(
        title=title,
        subtitle=f"{plural(voters, 'voter')}; share of them for each answer",
        bars=tuple(
            Bar(
                label=row.label,
                value=row.votes / voters,
                low=float(found.low[at]),
                high=float(found.high[at]),
                note=_votes(row),
            )
            for at, row in enumerate(outcome.rows)
        ),
        interval=f"{CONFIDENCE:.0%} interval, were they drawn by lot from many",
    )


def bars_json(scene: BarsScene) -> JsonObject:
    """A scene as a part of a body of the outbox."""
    bars: list[Json] = [
        {"label": b.label, "value": b.value, "low": b.low, "high": b.high, "note": b.note}
        for b in scene.bars
    ]
    return {
        "title": scene.title,
        "subtitle": scene.subtitle,
        "bars": bars,
        "interval": scene.interval,
    }


def _votes(row: Row) -> str:
    return plural(row.votes, "vote")
