"""The set-up as one message: a step at a time, with what is set and what Discord still refuses."""

from collections.abc import Callable

import discord

from bot.chat.message import plain_embed, view_of
from bot.services.actions import ButtonFields
from bot.services.setup import AUDIT, COACH, DIVISIONS, DONE, NOTES, STEPS, SetUp
from bot.services.setup_actions import PickSetup, SetupStep
from shared.menu import MenuFields
from shared.text import clipped, plain

AT_ONCE = 4  # divisions with a menu each; the fifth row is for the buttons
TITLES = {
    COACH: "Who coaches",
    NOTES: "Where notes go",
    AUDIT: "Who hears of changes",
    DIVISIONS: "Divisions by role",
    DONE: "How it stands",
}
Lacking = Callable[[int | None, str], list[str]]
"""What the bot lacks in the channel of this id for one of the steps, in words."""


def step_embed(
    setup: SetUp, step: str, *, lacking: Lacking, seen: list[str], page: int = 0
) -> discord.Embed:
    """A step: what it is for, what is set, what is missing."""
    lines = {
        COACH: lambda: _coach(setup, seen),
        NOTES: lambda: _notes(setup, lacking),
        AUDIT: lambda: _audit(setup, lacking),
        DIVISIONS: lambda: _divisions(setup, page),
        DONE: lambda: _done(setup, lacking),
    }[step]()
    title = f"{STEPS.index(step) + 1} of {len(STEPS)}: {TITLES[step]}"
    return plain_embed(title, lines, "Each choice is kept at once; /setup start goes on later.")


def step_view(setup: SetUp, step: str, page: int = 0) -> discord.ui.View:
    """The menus of a step and the buttons to the others."""
    menus: list[MenuFields] = []
    buttons: list[ButtonFields] = []
    at = STEPS.index(step)
    if at:
        buttons.append(SetupStep("go", STEPS[at - 1], 0).button("Back"))
    if step == COACH:
        pick = PickSetup(COACH, 0).id
        menus = [MenuFields(pick, "The coaches' role", of="roles", chosen=setup.coach_role)]
        if setup.coach_role is not None:
            buttons.append(SetupStep("none", COACH, 0).button("Who manages the server"))
    elif step == NOTES:
        pick, hint = PickSetup(NOTES, 0).id, "A channel, thread or forum"
        menus = [MenuFields(pick, hint, of="notes channels", chosen=setup.notes)]
    elif step == AUDIT:
        pick, hint = PickSetup(AUDIT, 0).id, "A channel for coaches"
        menus = [MenuFields(pick, hint, of="channels", chosen=setup.audit)]
        if setup.audit is not None:
            buttons.append(SetupStep("none", AUDIT, 0).button("No channel"))
    elif step == DIVISIONS:
        shown = list(enumerate(setup.divisions))[page : page + AT_ONCE]
        menus = [
            MenuFields(PickSetup(DIVISIONS, place).id, _hint(name), of="roles", chosen=role)
            for place, (name, role) in shown
        ]
        if page + AT_ONCE < len(setup.divisions):
            buttons.append(SetupStep("go", DIVISIONS, page + AT_ONCE).button("More divisions"))
        if any(role for _, role in setup.divisions):
            buttons.append(SetupStep("none", DIVISIONS, page).button("No roles"))
    if step != DONE:
        buttons.append(SetupStep("go", STEPS[at + 1], 0).button("Next", "primary"))
    return view_of(buttons, menus)


def _hint(division: str) -> str:
    return clipped(f"The role of {division}", 100)


def _coach(setup: SetUp, seen: list[str]) -> list[str]:
    lines = [f"Coaches write the book; everybody reads it. Now: {_who(setup)}."]
    return [*lines, "", *seen]


def _notes(setup: SetUp, lacking: Lacking) -> list[str]:
    return [
        "A channel or a thread takes a message a hole, a forum a post a hole. "
        f"Now: {_channel(setup.notes)}.",
        *_missing(setup.notes, NOTES, lacking),
    ]


def _audit(setup: SetUp, lacking: Lacking) -> list[str]:
    return [
        "A channel that hears what coaches change, who did and why; none if you don't want it. "
        f"Now: {_channel(setup.audit)}.",
        *_missing(setup.audit, AUDIT, lacking),
    ]


def _divisions(setup: SetUp, page: int) -> list[str]:
    if setup.event is None:
        return ["No cup is current yet. Once one is (/event new, /event use), come back here."]
    lines = [
        f"Who has a division's role plays in it in {plain(setup.event)} and is not asked; what "
        "somebody says with /me division goes before.",
        "",
    ]
    for name, role in setup.divisions[page : page + AT_ONCE]:
        lines.append(f"{plain(name)}: {f'<@&{role}>' if role else 'no role'}")
    return lines


def _done(setup: SetUp, lacking: Lacking) -> list[str]:
    named = [f"{plain(name)} <@&{role}>" for name, role in setup.divisions if role]
    missing = [*_missing(setup.notes, NOTES, lacking), *_missing(setup.audit, AUDIT, lacking)]
    cup = plain(setup.event) if setup.event else "none yet: /event new begins one"
    return [
        f"{_tick(True)} Coaches: {_who(setup)}",
        f"{_tick(setup.notes)} Notes: {_channel(setup.notes)}",
        f"{_tick(setup.audit)} Changes: {_channel(setup.audit)}",
        f"{_tick(named)} Divisions by role: {', '.join(named) or 'none, members are asked'}",
        f"{_tick(setup.event)} Cup: {cup}",
        *missing,
        *([] if missing else ["", "Nothing is missing in these channels."] * bool(setup.notes)),
        "",
        "Your own game: /kit load. Then /event new, its lines with /line many, and /publish.",
    ]


def _tick(done: object) -> str:
    return "✓" if done else "–"


def _who(setup: SetUp) -> str:
    return f"<@&{setup.coach_role}>" if setup.coach_role else "those who manage this server"


def _channel(channel: int | None) -> str:
    return f"<#{channel}>" if channel else "none yet"


def _missing(channel: int | None, step: str, lacking: Lacking) -> list[str]:
    found = lacking(channel, step)
    return ["", f"⚠ In <#{channel}> I still need: {', '.join(found)}."] if found else []
