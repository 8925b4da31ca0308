"""A hole of a member's round as one private message: two rows a shot, menus, what became of it."""

import discord

from bot.chat.message import in_rows, plain_embed, view_of
from bot.commands.for_me.card import for_me_embed
from bot.services.actions import ButtonFields
from bot.services.answer_actions import DrawLine, InRound, MendRound, PickRoundWind, WhyLine
from bot.services.results.outcome import mistake_question, outcome_words
from bot.services.results.service import Told
from bot.services.round import Page
from bot.services.wind_menus import wind_menus
from shared.text import plain

MOST_OTHERS = 5  # buttons for other lines
UNDER_MENUS, BESIDE = 2, 2  # the first row of buttons; how many lines a phone shows beside *Why*


def round_embed(page: Page) -> discord.Embed:
    """The hole: what to do, shot by shot, then where the round stands."""
    if page.found is None:
        return plain_embed(plain(page.problem), _standing(page))
    found = page.found
    heading = f"Hole {found.hole.number} of {len(page.holes)} · par {found.hole.par}"
    heading += f" · line {found.letter}"
    bag = [] if found.bag_is_set else ["Default grades; set yours with /bag"]
    return for_me_embed(found, "\n".join([heading, *bag, *_standing(page)]))


def round_view(page: Page) -> discord.ui.View:
    """Menus of the wind; what became of it; the holes before and after; other lines."""
    found, event, hole = page.found, page.played.event, page.played.hole
    around, mends = _steps(page), _mends(page)
    if found is None:
        return view_of([*around, *mends])
    wind, own = found.wind, found.letter
    menus = wind_menus(
        lambda part: PickRoundWind(part, hole, own, wind, event).id,
        wind=wind,
        usual=found.usual,
        units=found.units,
    )

    def act(name: str, label: str, style: str = "secondary", line: str = own) -> ButtonFields:
        return InRound(name, hole, line, page.attempt, wind, event).button(label, style)

    outcome = [act("in", "Went in", "success"), act("miss", "Missed"), *around]
    more = [
        WhyLine(hole, own, wind, event).button("Why"),
        DrawLine(hole, own, wind, event).button("Picture"),
    ]
    first = found.first_of_others
    others = sorted(found.others, key=lambda each: (each != first, each))[:MOST_OTHERS]
    lines = [act("line", f"Line {each}", line=each) for each in others]
    rows = [outcome, [*more, *lines[:BESIDE]], [*mends, *lines[BESIDE:]]]
    return view_of(in_rows(rows, first=UNDER_MENUS), menus)


def _steps(page: Page) -> list[ButtonFields]:
    played = page.played
    return [
        InRound("go", number, "", 0, None, played.event).button(label)
        for number, label in (
            (played.hole - 1, f"← {played.hole - 1}"),
            (played.hole + 1, f"{played.hole + 1} →"),
        )
        if number in page.holes
    ]


def _mends(page: Page) -> list[ButtonFields]:
    """To correct what was logged just now, or take it back."""
    told = page.told
    if told is None or page.taken_back:
        return []
    return MendRound.pair(hole=told.hole, result_id=told.result.id, event=page.played.event)


def _kept(page: Page, told: Told) -> str:
    if page.taken_back:
        return "taken back"
    if told.result.edition:
        return "corrected"
    return "counted" if told.counted else "counted before, not twice"


def _standing(page: Page) -> list[str]:
    """What was logged just now, and what became of each hole so far."""
    rows: list[str] = []
    if page.told is not None:
        told = page.told
        said = outcome_words(told.result.played, told.units)
        rows.append(f"Hole {told.hole} {said}: {_kept(page, told)}")
        if question := mistake_question(told.mistake):
            rows.append(f"**{question}** If so, press Correct.")
    came = page.played.came
    if came:
        marks = " ".join(
            f"{number}{'✓' if came[number] else '✗'}" for number in page.holes if number in came
        )
        rows.append(f"So far {sum(came.values())} of {len(came)} in: {marks}")
    return rows
