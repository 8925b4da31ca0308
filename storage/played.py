"""What one played shot or line did, as it is logged and as it is kept.

A wind is the velocity of the air in the axes of the line of play, mm/s: along + helps, right +
blows to the right. A miss or an effect is (long, right) in cm, whole numbers.
"""

import math
from dataclasses import dataclass, field
from datetime import datetime

from shared.keys import MEASURED


@dataclass(frozen=True, slots=True)
class Part:
    """What a result adds to the running sum of vectors under ``scope`` and ``key``."""

    scope: str
    key: str
    vector: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Played:
    """One played shot or line.

    ``club``, ``grade`` and ``ball`` are those of the shot that was to go in ("" unknown), ``share``
    the carry it was meant for over the full carry. ``miss_cm`` is where it came down and
    ``ended_cm`` where it ended, from the hole, each None where nobody said; ``onto`` is the kind of
    ground it was to finish on ("": its target was where it comes down). ``effect_cm`` is what the
    allowance law said the wind would do, ``observed_cm`` what it did: where the ball came down from
    where still air would have put it. ``carry_cm`` and ``height_cm`` are those of the place it was
    to come down at, ``aim_cm`` how far off the hole it was aimed, ``backspin`` in steps and
    ``tilt_deg`` the spin's: with wind, share and ball all that the law needs to be asked again.
    ``missed_side`` is the side of a miss nobody measured: long +1, short -1, right +1, left -1, 0
    where not said. ``chance`` of going in is what it was given as it was logged. ``weight`` says
    how far the learning trusts it, ``left_out`` is a coach's reason not to learn from it; the
    line's sums count every try once. ``several`` are (tries, went in) of tries told at once: none
    of them is measured, and ``holed`` says whether all went in. ``line_revision`` is the line's as
    it was played, ``round`` and ``wind_shown`` the words its member saw. Raises ValueError for what
    cannot be summed.
    """

    hole_key: str
    line_key: str
    variant: str
    holed: bool
    miss_cm: tuple[int, int] | None = None
    wind_mmps: tuple[int, int] | None = None
    club: str = ""
    grade: str = ""
    ball: str = ""
    share: float | None = None
    effect_cm: tuple[int, int] | None = None
    observed_cm: tuple[int, int] | None = None
    carry_cm: int | None = None
    height_cm: int | None = None
    aim_cm: tuple[int, int] | None = None
    backspin: float | None = None
    tilt_deg: float | None = None
    missed_side: tuple[int, int] | None = None
    several: tuple[int, int] | None = None
    ended_cm: tuple[int, int] | None = None
    onto: str = ""
    chance: float | None = None
    weight: float = 1.0
    remark: str = ""
    left_out: str = ""
    line_revision: int | None = None
    round: str = ""
    wind_shown: str = ""
    parts: tuple[Part, ...] = field(default=())

    @property
    def measured(self) -> bool:
        """Whether it was measured on purpose, on no hole of an event."""
        return self.hole_key == MEASURED

    def __post_init__(self) -> None:
        if len({(part.scope, part.key) for part in self.parts}) != len(self.parts):
            raise ValueError("two parts for one sum")
        numbers = (
            *(
                self.weight,
                self.share or 0.0,
                self.chance or 0.0,
                self.backspin or 0.0,
                self.tilt_deg or 0.0,
            ),
            *(value for part in self.parts for value in part.vector),
        )
        if any(side not in (-1, 0, 1) for side in self.missed_side or ()):
            raise ValueError("a side is -1, 0 or 1")
        if not 0 <= self.went_in <= self.tries:
            raise ValueError("more went in than were tried")
        told = self.miss_cm or self.ended_cm or self.observed_cm
        if self.several is not None and told:
            raise ValueError("tries told at once have no miss of their own")
        if not all(map(math.isfinite, numbers)):
            raise ValueError("a result holds a number that is not finite")

    @property
    def missed_by_cm(self) -> tuple[int, int] | None:
        """How far it was from the hole in the end; None where that is not known.

        A ball whose target was where it comes down is told by that, where nobody said more.
        """
        if self.ended_cm is not None:
            return self.ended_cm
        if self.onto:
            return (0, 0) if self.holed and self.several is None else None
        return (0, 0) if self.holed and self.miss_cm else self.miss_cm

    @property
    def tries(self) -> int:
        """How many tries it tells of."""
        return 1 if self.several is None else self.several[0]

    @property
    def went_in(self) -> int:
        """How many of them went in."""
        return int(self.holed) if self.several is None else self.several[1]


@dataclass(frozen=True, slots=True)
class Result:
    """A kept result.

    ``attempt`` counts the member's tries on this line, ``edition`` its corrections from 0.
    ``origin_id`` is the id of edition 0. What was corrected or removed keeps its row, with
    ``removed_at``; ``supersedes`` is the id of the edition before. A forgotten author is None.
    """

    id: int
    community_id: int
    member_id: int | None
    author_name: str | None
    interaction_id: int
    attempt: int
    edition: int
    origin_id: int
    supersedes: int | None
    played: Played
    created_at: datetime
    removed_at: datetime | None
