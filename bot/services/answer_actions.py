"""What the menus and buttons under an answer ask for, as text that outlives a restart.

As for all actions: change no name, field or order. A menu's name begins with "pick".
"""

from dataclasses import dataclass
from typing import ClassVar

from bot.services.actions import Action, ButtonFields, FormAction, Labels
from shared.quantities import Wind


@dataclass(frozen=True)
class PickWind(Action):
    """Answer a wind question in another wind: the ``part`` chosen of it is speed or hour.

    ``text`` is the question without its wind; the message is changed for the ``asker`` alone.
    """

    name: ClassVar[str] = "pickwind"
    part: str
    asker: int
    wind: Wind | None
    text: str


@dataclass(frozen=True)
class WhyAnswer(Action):
    """Say what stands behind the answer to a wind question."""

    name: ClassVar[str] = "why"
    text: str


@dataclass(frozen=True)
class EveryClub(Action):
    """Show all clubs and grades that reach, also those not in the bag; ``text`` is the shot."""

    name: ClassVar[str] = "equal"
    text: str


@dataclass(frozen=True)
class PickLineWind(Action):
    """Show a line in another wind: the ``part`` chosen of it is speed or hour."""

    name: ClassVar[str] = "pickline"
    part: str
    hole: int
    variant: str
    wind: Wind | None
    event: str


@dataclass(frozen=True)
class WhyLine(Action):
    """Say what stands behind a line as it was moved to a member."""

    name: ClassVar[str] = "whyline"
    hole: int
    variant: str
    wind: Wind | None
    event: str


@dataclass(frozen=True)
class DrawLine(Action):
    """Draw a line as it was moved to a member."""

    name: ClassVar[str] = "drawline"
    hole: int
    variant: str
    wind: Wind | None
    event: str


@dataclass(frozen=True)
class InRound(Action):
    """In a member's round: log (in, miss), go to a hole (go), or play another line (line).

    ``attempt`` makes a press that is delivered twice count once; the wind is the one shown.
    """

    name: ClassVar[str] = "round"
    act: str
    hole: int
    variant: str
    attempt: int
    wind: Wind | None
    event: str


@dataclass(frozen=True)
class RoundForm(FormAction):
    """The form of a miss in a member's round."""

    name: ClassVar[str] = "roundform"
    labels: ClassVar[Labels] = {"outcome": "How far it missed"}
    hole: int
    variant: str
    attempt: int
    wind: Wind | None
    event: str


@dataclass(frozen=True)
class MendRound(Action):
    """In a member's round: correct (fix) or take back (drop) what was logged of a hole."""

    name: ClassVar[str] = "roundmend"
    act: str
    hole: int
    result_id: int
    event: str

    @classmethod
    def pair(cls, *, hole: int, result_id: int, event: str) -> list[ButtonFields]:
        """*Correct hole 3* and *Take it back*."""
        return [
            cls("fix", hole, result_id, event).button(f"Correct hole {hole}"),
            cls("drop", hole, result_id, event).button("Take it back"),
        ]


@dataclass(frozen=True)
class RoundFixForm(FormAction):
    """The form that corrects what was logged in a member's round."""

    name: ClassVar[str] = "roundfix"
    labels: ClassVar[Labels] = {"outcome": "In, or how far it missed", "wind": "Wind as played"}
    hole: int
    result_id: int
    event: str


@dataclass(frozen=True)
class PickRoundWind(Action):
    """Show the hole of a member's round in another wind, and remember that."""

    name: ClassVar[str] = "pickround"
    part: str
    hole: int
    variant: str
    wind: Wind | None
    event: str


@dataclass(frozen=True)
class ChooseHome(Action):
    """Have a community's bag answer outside its server, and answer ``text`` if there is one."""

    name: ClassVar[str] = "home"
    community_id: int
    text: str
