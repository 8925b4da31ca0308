"""The answer to a wind question. Yards here; a reader's own units are a matter of the card."""

from typing import Literal

from shared.kit import SurfaceKind
from shared.model import Model
from shared.shot import Shot


class Offset(Model):
    """Along and across: long + beyond, right + to the right; yards."""

    right_yd: float
    long_yd: float


class Allowance(Offset):
    """How far to aim off, in yards and in marks."""

    right_marks: float
    long_marks: float


class FlightFacts(Model):
    """The flight of the shot in the wind; drift is what the wind does to it."""

    time_s: float
    apex_yd: float
    landing_deg: float
    drift_right_yd: float
    drift_long_yd: float


class GroundFacts(Model):
    """What the ball does on the ground to finish at the target, in yards.

    ``comes_down`` is from the target, ``carry_yd`` and ``total_yd`` are from the ball; ``run_yd``
    is what lies between them, with the first bounce and the roll at the end in it.
    """

    onto: SurfaceKind
    comes_down: Offset
    carry_yd: float
    first_bounce_yd: float
    run_yd: float
    roll_yd: float
    total_yd: float


class IfWind(Model):
    """What the allowance would change by: one mph more, and ten degrees further clockwise."""

    per_mph: Offset
    per_10_deg: Offset


class Margin(Allowance):
    """Half the 90% interval of the allowance along and across, and where it comes from in words."""

    source: str


class Answer(Model):
    """What to do with one shot, and how sure that is.

    ``share`` is target carry over full carry. ``setup_yd``, the still-air set-up counted from full
    carry (plus beyond it), and ``swing_share``, over full carry, say the same swing twice.
    ``mark_yd`` is one mark at the target, in yards. ``help_turns`` says that more of a helping wind
    takes no more off. ``flight`` is None where a chart answers beyond what can be flown.
    ``ground`` is what the ball does where it is to finish at the target; the allowance is from the
    target all the same.
    """

    shot: Shot
    text: str
    kit: str
    club: str
    grade: str
    ball: str
    law: Literal["flight", "chart"]
    allowance: Allowance
    distance_yd: float
    plays_yd: float
    share: float
    swing_share: float
    setup_yd: float
    help_turns: bool
    flight: FlightFacts | None
    ground: GroundFacts | None = None
    if_wind: IfWind
    margin: Margin
    margin_yd: float
    mark_yd: float
    notes: tuple[str, ...] = ()
