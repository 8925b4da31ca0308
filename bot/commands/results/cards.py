"""Results as embeds, and the line each variant gets on a hole's note."""

import discord

from bot.chat.message import plain_embed
from bot.services.results.outcome import mistake_question, outcome_words, tally_words
from bot.services.results.service import Told, wind_of
from shared import limits
from shared.keys import hole_played
from shared.text import plain, when
from shared.units import UnitSystem
from shared.wording import wind_words
from storage.played import Result


def told_embed(told: Told) -> discord.Embed:
    """A result that was kept: counted, or counted before."""
    played = told.result.played
    said = outcome_words(played, told.units)
    start = "Counted" if told.counted else "Counted before, not twice"
    again = " (corrected)" if told.result.edition else ""
    which = "" if played.measured else f"{_which(told.result)} on this line{again}: "
    lines = [f"{which}{_how(told.result, told.units)}"]
    if told.tally is not None:
        lines.append(f"Everybody on line {played.variant}: {tally_words(told.tally)}")
    if question := mistake_question(told.mistake):
        lines += ["", f"**{question}** If so, press Correct."]
    return plain_embed(f"{start}: {_lower(told.result)} {said}", lines)


def taken_back_embed(told: Told) -> discord.Embed:
    """A result that was taken back."""
    played = told.result.played
    left = tally_words(told.tally) if told.tally else "no try left"
    said = outcome_words(played, told.units)
    lines = [f"Everybody on line {played.variant}: {left}"]
    if played.measured:
        lines = [f"It is off the series too; hit it again with /measure club:{plain(played.club)}"]
    return plain_embed(f"Taken back: {_lower(told.result)} {said}", lines)


def mine_embed(results: list[Result], units: UnitSystem) -> discord.Embed:
    """A member's last results, newest first."""
    rows = [
        f"**{where_words(each)}** {outcome_words(each.played, units)} · {when(each.created_at)}\n"
        f"{_how(each, units)}"
        for each in results
    ]
    hint = "Change one: /results result:" if rows else ""
    title = "Your last results" if rows else "You have logged no result yet"
    return plain_embed(title, rows or ["Press Went in or Missed under a hole's note."], hint)


def one_embed(result: Result, units: UnitSystem) -> discord.Embed:
    """One result, to be changed."""
    said = outcome_words(result.played, units)
    return plain_embed(f"{where_words(result)} {said}", [_how(result, units)])


def choice_words(result: Result, units: UnitSystem) -> str:
    """A result as a suggestion."""
    return f"{where_words(result)} {outcome_words(result.played, units)}"[: limits.CHOICE]


def where_words(result: Result) -> str:
    """Which result it is: 'Hole 3, line A', 'Measured 6-iron'."""
    hole = hole_played(result.played.hole_key)
    if hole is None:
        return f"Measured {plain(result.played.club)}"
    return f"Hole {hole.number}, line {result.played.variant}"


def _lower(result: Result) -> str:
    words = where_words(result)
    return words[0].lower() + words[1:]


def _which(result: Result) -> str:
    first, tries = result.attempt, result.played.tries
    return f"Your try {first}" if tries == 1 else f"Your tries {first} to {first + tries - 1}"


def _how(result: Result, units: UnitSystem) -> str:
    played = result.played
    wind = wind_of(played.wind_mmps, units)
    blew = plain(wind_words(wind, units)) if wind else "wind not known"
    return f"{blew} · {plain(played.club)} ({plain(played.grade)})"
