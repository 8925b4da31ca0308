"""What the buttons and forms under our messages ask for: their names and fields.

Messages of earlier versions stand in channels: change no name, field or order.
"""

from dataclasses import dataclass
from typing import ClassVar

from bot.services.action import Action, ButtonFields
from shared import limits
from shared.quantities import Wind
from shared.text import clipped

IN, MISS = "in", "miss"


@dataclass(frozen=True)
class AskForMe(Action):
    """Open the form that moves a hole's line to a member's own wind and bag."""

    name: ClassVar[str] = "forme"
    hole: int
    event: str

    def as_button(self) -> ButtonFields:
        """*For me*."""
        return self.button("For me", "primary")


@dataclass(frozen=True)
class AskLineForMe(Action):
    """Open the form that moves the line the button stands under."""

    name: ClassVar[str] = "formeline"
    hole: int
    variant: str
    event: str

    def as_button(self) -> ButtonFields:
        """*For me*."""
        return self.button("For me", "primary")


@dataclass(frozen=True)
class MoreOfNote(Action):
    """Show all that a hole's note has to say to the member who asks, from a page on."""

    name: ClassVar[str] = "morenote"
    hole: int
    page: int
    event: str

    def as_button(self) -> ButtonFields:
        """*More*."""
        return self.button("More")


AGAIN = "again"


@dataclass(frozen=True)
class ChooseDivision(Action):
    """Put the member into a division by its place, then go on.

    ``then`` is *hole*, *more* or *forme* of a hole; *again* asks once more what was refused, whose
    token stands in place of the hole.
    """

    name: ClassVar[str] = "division"
    then: str
    hole: int
    place: int
    event: str

    @classmethod
    def each(
        cls, divisions: tuple[str, ...], *, then: str, hole: int, event: str
    ) -> list[ButtonFields]:
        """A button for every division."""
        return [
            cls(then, hole, place, event).button(clipped(division, limits.BUTTON))
            for place, division in enumerate(divisions)
        ]


@dataclass(frozen=True)
class ForMeForm(Action):
    """The form of *For me*; ``variant`` is the only line of the hole, empty where it is asked."""

    name: ClassVar[str] = "windform"
    hole: int
    variant: str
    event: str


@dataclass(frozen=True)
class OtherLine(Action):
    """Show another line of the hole in the wind the member has given."""

    name: ClassVar[str] = "variant"
    hole: int
    variant: str
    wind: Wind | None
    event: str

    def as_button(self) -> ButtonFields:
        """*Line B*."""
        return self.button(f"Line {self.variant}")


@dataclass(frozen=True)
class LogTry(Action):
    """Log a try that went in or missed; ``variant`` empty where the line is to be asked."""

    name: ClassVar[str] = "log"
    act: str
    hole: int
    variant: str
    wind: Wind | None
    event: str

    @classmethod
    def pair(
        cls,
        *,
        event: str,
        hole: int,
        variant: str = "",
        wind: Wind | None = None,
        went_in: str = "Went in",
    ) -> list[ButtonFields]:
        """*Went in* and *Missed*."""
        labels = ((IN, went_in, "success"), (MISS, "Missed", "secondary"))
        return [
            cls(act, hole, variant, wind, event).button(label, style)
            for act, label, style in labels
        ]


@dataclass(frozen=True)
class LogForm(Action):
    """The form of a try; ``attempt`` makes a press that is delivered twice count once."""

    name: ClassVar[str] = "logform"
    act: str
    hole: int
    variant: str
    attempt: int
    event: str


@dataclass(frozen=True)
class ChangeResult(Action):
    """Correct (fix) or take back (drop) one's own result."""

    name: ClassVar[str] = "result"
    sign: ClassVar[str] = ":"
    act: str
    result_id: int

    @classmethod
    def pair(cls, result_id: int) -> list[ButtonFields]:
        """*Correct* and *Take back*."""
        return [
            cls("fix", result_id).button("Correct"),
            cls("drop", result_id).button("Take back"),
        ]


@dataclass(frozen=True)
class FixForm(Action):
    """The form that corrects a result."""

    name: ClassVar[str] = "fixform"
    result_id: int


@dataclass(frozen=True)
class AskShare(Action):
    """Open the form that shares a line as the member plays it."""

    name: ClassVar[str] = "share"
    hole: int
    variant: str
    wind: Wind | None
    event: str

    def as_button(self) -> ButtonFields:
        """*Share*."""
        return self.button("Share")


@dataclass(frozen=True)
class ShareForm(Action):
    """The form that shares a line."""

    name: ClassVar[str] = "shareform"
    hole: int
    variant: str
    wind: Wind | None
    event: str


@dataclass(frozen=True)
class DecideShared(Action):
    """Make a shared idea a line (on), or take it back (back)."""

    name: ClassVar[str] = "shared"
    act: str
    hole: int
    variant: str
    event: str

    def as_button(self) -> ButtonFields:
        """*Make it a line* or *Take back*."""
        return self.button({"on": "Make it a line", "back": "Take back"}[self.act])


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
class DecideKit(Action):
    """Save (save) or give up (drop) a kit that was loaded and looked at."""

    name: ClassVar[str] = "kit"
    sign: ClassVar[str] = ":"
    act: str
    token: str


@dataclass(frozen=True)
class BringKitBack(Action):
    """Bring back a revision of the community's kit, 0 for the operator's; ``seen`` is the newest
    one when the button was made."""

    name: ClassVar[str] = "kitback"
    revision: int
    seen: int


@dataclass(frozen=True)
class SetupStep(Action):
    """Show a step of the set-up from a page on (go), or have nothing chosen there (none)."""

    name: ClassVar[str] = "setupstep"
    act: str
    step: str
    page: int


@dataclass(frozen=True)
class PickSetup(Action):
    """Choose a role or a channel in a step of the set-up; of divisions the one at ``place``."""

    name: ClassVar[str] = "picksetup"
    step: str
    place: int


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


@dataclass(frozen=True)
class MeasureClub(Action):
    """Log a shot of a series (log), look at its chart (chart), save that (save), take it back
    (undo), begin anew (drop)."""

    name: ClassVar[str] = "measure"
    act: str
    club: str


@dataclass(frozen=True)
class MeasureForm(Action):
    """The form of one measured shot."""

    name: ClassVar[str] = "shotform"
    club: str


@dataclass(frozen=True)
class ShowPicture(Action):
    """Draw the picture of a wind question."""

    name: ClassVar[str] = "picture"
    text: str


@dataclass(frozen=True)
class ForgetMember(Action):
    """Say yes to being forgotten; the id is that of whom was asked."""

    name: ClassVar[str] = "me:forget"
    sign: ClassVar[str] = ":"
    member_id: int
