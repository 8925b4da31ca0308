"""What the buttons and forms under a coach's messages ask for: drafts, histories and events."""

from dataclasses import dataclass
from typing import ClassVar

from bot.services.actions import Action


@dataclass(frozen=True)
class DecideDraft(Action):
    """Save, save over, change or give up a line that is being written."""

    name: ClassVar[str] = "line"
    sign: ClassVar[str] = ":"
    act: str
    token: str


@dataclass(frozen=True)
class DraftForm(Action):
    """The form of a line that is being written."""

    name: ClassVar[str] = "lineform"
    token: str


@dataclass(frozen=True)
class DecideBatch(Action):
    """Save, change or give up many lines that are being written or copied."""

    name: ClassVar[str] = "lines"
    sign: ClassVar[str] = ":"
    act: str
    token: str


@dataclass(frozen=True)
class BatchForm(Action):
    """The form of many lines; the event's name, empty for the current one."""

    name: ClassVar[str] = "linesform"
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
class NewEventForm(Action):
    """The form of a new event."""

    name: ClassVar[str] = "newevent"
    version: int = 1


@dataclass(frozen=True)
class BringEventBack(Action):
    """Bring back a deleted event."""

    name: ClassVar[str] = "eventback"
    event: str


@dataclass(frozen=True)
class DatesForm(Action):
    """The form of when rounds begin."""

    name: ClassVar[str] = "datesform"
    event: str


@dataclass(frozen=True)
class WindsForm(Action):
    """The form of a round's winds; ``division`` and ``round`` are places in the event's lists."""

    name: ClassVar[str] = "windsform"
    division: int
    round: int
    event: str
