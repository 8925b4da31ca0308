"""What the buttons and forms under our messages ask for, as text that outlives a restart.

An action's ``id`` is the custom id of its button or form: its name, then its fields in order,
parted by ``sign``. The last field takes the rest, so an event's name may hold the sign. Messages
of earlier versions stand in channels: change no name, field or order.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Any, ClassVar, Self, get_type_hints

from shared import limits
from shared.errors import GONE, InputError
from shared.quantities import Speed, Wind
from shared.text import clipped

IN, MISS = "in", "miss"
Labels = Mapping[str, str]

ButtonFields = dict[str, str]
"""A button as the outbox keeps it: ``label``, ``custom_id``, perhaps ``style`` and ``row``."""


@dataclass(frozen=True)
class Action:
    """Base of all actions; a field is an int, a str or a wind (or none)."""

    name: ClassVar[str]
    sign: ClassVar[str] = "|"

    @property
    def id(self) -> str:
        """The action as text."""
        parts = [self.name]
        for field in fields(self):
            value = getattr(self, field.name)
            parts += _wind_parts(value) if _is_wind(type(self), field.name) else [str(value)]
        return self.sign.join(parts)

    @classmethod
    def read(cls, custom_id: str) -> Self:
        """The action of a custom id. Errors: InputError for one that is none of these."""
        kinds = _kinds(cls)
        count = sum(2 if kind is Wind else 1 for kind in kinds.values())
        start = cls.name + cls.sign
        parts = custom_id.removeprefix(start).split(cls.sign, count - 1)
        if not custom_id.startswith(start) or len(parts) != count:
            raise InputError(GONE, "/help")
        left = iter(parts)
        try:
            values = {
                field: _wind_of(next(left), next(left)) if kind is Wind else kind(next(left))
                for field, kind in kinds.items()
            }
        except ValueError as error:
            raise InputError(GONE, "/help") from error
        return cls(**values)

    def button(self, label: str, style: str = "secondary") -> ButtonFields:
        """The action as a button."""
        return {"label": label, "custom_id": self.id, "style": style}


@dataclass(frozen=True)
class FormAction(Action):
    """Base of the actions that are forms.

    ``labels`` are the labels of its text fields by their names, as an error says them; a form may
    show more behind one. ``many`` are the names of those that take several rows.
    """

    labels: ClassVar[Labels]
    many: ClassVar[Collection[str]] = ()


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
class ForMeForm(FormAction):
    """The form of *For me*; ``variant`` is the only line of the hole, empty where it is asked."""

    name: ClassVar[str] = "windform"
    labels: ClassVar[Labels] = {"wind": "Your wind", "line": "Line"}
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
class LogForm(FormAction):
    """The form of a try; ``attempt`` makes a press that is delivered twice count once."""

    name: ClassVar[str] = "logform"
    labels: ClassVar[Labels] = {
        "line": "Line",
        "outcome": "How far it missed",
        "wind": "Wind as played",
    }
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
class FixForm(FormAction):
    """The form that corrects a result."""

    name: ClassVar[str] = "fixform"
    labels: ClassVar[Labels] = {"outcome": "In, or how far it missed", "wind": "Wind as played"}
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
class ShareForm(FormAction):
    """The form that shares a line."""

    name: ClassVar[str] = "shareform"
    labels: ClassVar[Labels] = {
        "outcome": "In, or how far it missed",
        "remark": "What others should know",
    }
    many: ClassVar[Collection[str]] = ("remark",)
    hole: int
    variant: str
    wind: Wind | None
    event: str


SHARED_ACTS = {
    "on": ("Make it a line", "secondary"),
    "back": ("Take back", "secondary"),
    "yes": ("Approve", "success"),
    "no": ("Decline", "secondary"),
}


@dataclass(frozen=True)
class DecideShared(Action):
    """Make a shared idea a line (on), take it back (back), let it be posted (yes) or not (no)."""

    name: ClassVar[str] = "shared"
    act: str
    hole: int
    variant: str
    event: str

    def as_button(self) -> ButtonFields:
        """*Make it a line*, *Take back*, *Approve*, *Decline*."""
        label, style = SHARED_ACTS[self.act]
        return self.button(label, style)


@dataclass(frozen=True)
class DeclineForm(FormAction):
    """The form that declines a shared line."""

    name: ClassVar[str] = "declineform"
    labels: ClassVar[Labels] = {"why": "Why"}
    many: ClassVar[Collection[str]] = ("why",)
    hole: int
    variant: str
    event: str


@dataclass(frozen=True)
class MeasureClub(Action):
    """Log a shot of a series (log), look at its chart (chart), save that (save), take it back
    (undo), begin anew (drop)."""

    name: ClassVar[str] = "measure"
    act: str
    club: str


@dataclass(frozen=True)
class MeasureForm(FormAction):
    """The form of one measured shot."""

    name: ClassVar[str] = "shotform"
    labels: ClassVar[Labels] = {
        "shot": "Wind and carry, as played",
        "aim": "Your aim",
        "landed": "Came down from the target",
    }
    club: str


@dataclass(frozen=True)
class ShowPicture(Action):
    """Draw the picture of a wind question."""

    name: ClassVar[str] = "picture"
    text: str


@dataclass(frozen=True)
class RemindMe(Action):
    """Remind the member to log their rounds in a community (on), or no more (off)."""

    name: ClassVar[str] = "remindme"
    act: str
    community_id: int

    def as_button(self) -> ButtonFields:
        """*Remind me to log* or *No more reminders*."""
        return self.button("Remind me to log" if self.act == "on" else "No more reminders")


@dataclass(frozen=True)
class ForgetMember(Action):
    """Say yes to being forgotten; the id is that of whom was asked."""

    name: ClassVar[str] = "me:forget"
    sign: ClassVar[str] = ":"
    member_id: int


@cache
def _kinds(action: type[Action]) -> dict[str, Any]:
    """The kind of every field: int, str or Wind."""
    hints = get_type_hints(action)
    kinds: dict[str, Any] = {}
    for field in fields(action):
        kind = hints[field.name]
        kinds[field.name] = kind if kind in (int, str) else Wind if kind == Wind | None else str
    return kinds


def _is_wind(action: type[Action], field: str) -> bool:
    return _kinds(action)[field] is Wind


def _wind_parts(wind: Wind | None) -> list[str]:
    return ["", ""] if wind is None else [f"{wind.speed.mps:.3f}", f"{wind.relative_deg:.1f}"]


def _wind_of(mps: str, deg: str) -> Wind | None:
    if not mps:
        return None
    return Wind(speed=Speed(value=float(mps), unit="m/s"), from_deg=float(deg))
