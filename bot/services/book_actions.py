"""What the buttons and forms under a coach's messages ask for: drafts, histories and events."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import ClassVar

from bot.services.actions import Action, ButtonFields, FormAction, Labels


@dataclass(frozen=True)
class DecideDraft(Action):
    """Save, save over, change or give up a line that is being written."""

    name: ClassVar[str] = "line"
    sign: ClassVar[str] = ":"
    act: str
    token: str


@dataclass(frozen=True)
class DraftForm(FormAction):
    """The form of a line that is being written."""

    name: ClassVar[str] = "lineform"
    labels: ClassVar[Labels] = {
        "wind": "Wind it was tested in",
        "rows": "Shots, one a row",
        "notes": "Notes",
    }
    many: ClassVar[Collection[str]] = (
        "rows",
        "notes",
    )
    token: str


@dataclass(frozen=True)
class DecideBatch(Action):
    """Save, change or give up many lines that are being written or copied."""

    name: ClassVar[str] = "lines"
    sign: ClassVar[str] = ":"
    act: str
    token: str


@dataclass(frozen=True)
class BatchForm(FormAction):
    """The form of many lines; the event's name, empty for the current one."""

    name: ClassVar[str] = "linesform"
    labels: ClassVar[Labels] = {"rows": "Lines, one a row"}
    many: ClassVar[Collection[str]] = ("rows",)
    event: str


@dataclass(frozen=True)
class BringBack(Action):
    """Bring back a revision of a line."""

    name: ClassVar[str] = "bringback"
    hole: int
    variant: str
    revision: int
    event: str


@dataclass(frozen=True)
class BringHoleBack(Action):
    """Bring back a revision of a hole: its facts and winds."""

    name: ClassVar[str] = "holeback"
    hole: int
    revision: int
    event: str


@dataclass(frozen=True)
class NewEventForm(FormAction):
    """The form of a new event."""

    name: ClassVar[str] = "newevent"
    labels: ClassVar[Labels] = {
        "name": "Name",
        "divisions": "Divisions",
        "rounds": "Rounds",
        "holes": "Holes, one a row",
    }
    many: ClassVar[Collection[str]] = ("holes",)
    version: int = 1


@dataclass(frozen=True)
class BringEventBack(Action):
    """Bring back a deleted event."""

    name: ClassVar[str] = "eventback"
    event: str


@dataclass(frozen=True)
class DecideLoad(Action):
    """Load a file and keep what is newer (keep) or not (over), or give it up (drop)."""

    name: ClassVar[str] = "loadfile"
    sign: ClassVar[str] = ":"
    act: str
    token: str

    @classmethod
    def each(cls, token: str) -> list[ButtonFields]:
        """The three buttons."""
        return [
            cls("keep", token).button("Load, keep these", "success"),
            cls("over", token).button("Load the file as it is", "danger"),
            cls("drop", token).button("Give up"),
        ]


@dataclass(frozen=True)
class DatesForm(FormAction):
    """The form of when rounds begin."""

    name: ClassVar[str] = "datesform"
    labels: ClassVar[Labels] = {"rows": "Rounds, one a row"}
    many: ClassVar[Collection[str]] = ("rows",)
    event: str


@dataclass(frozen=True)
class WindsForm(FormAction):
    """The form of a round's winds; ``division`` and ``round`` are places in the event's lists."""

    name: ClassVar[str] = "windsform"
    labels: ClassVar[Labels] = {"rows": "Winds"}
    many: ClassVar[Collection[str]] = ("rows",)
    division: int
    round: int
    event: str
