"""The caddie: from shots as typed to answers for a kit. Knows no Discord and no storage."""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from bot.services.caddie.answering import answer_from, no_finish, unreachable
from bot.services.caddie.believed import Believed, unlearned
from bot.services.caddie.ground import grounds_of, onto_of
from bot.services.caddie.hits import spread_from
from bot.services.caddie.rack import Choice, KitRack, build_rack
from engine.batch import Rows
from engine.execution import HitSpread
from engine.finish_law import Law, allow_finish
from engine.law import Allowances, Shots, Verdict, answers, spin_factor
from engine.rack import Array
from engine.response import Response
from shared.answer import Answer
from shared.bag import Bag
from shared.errors import (
    InputError,
    LeewardError,
    TargetHeightError,
    TooStrongWindError,
)
from shared.kit import Club, Kit
from shared.shot import Shot
from shared.shot_text import format_shot
from shared.shot_text.write import example_shot
from shared.units import METRES_PER_YARD, MPS_PER_MPH


def choose(*, shot: Shot, bag: Bag | None, kit: Kit) -> Choice:
    """What a shot is hit with: the shot's own words, then the bag's, then the kit's defaults."""
    assert shot.club is not None
    club = kit.club(shot.club)
    notes: list[str] = []
    owned = (bag.grades.get(club.name) if bag else None) if shot.grade is None else shot.grade
    if owned is not None and owned not in {grade.name for grade in club.grades}:
        notes.append(f"the kit no longer has the grade {owned} of the {club.name}: default used")
        owned = None
    ball = (bag.ball if bag else None) if shot.ball is None else shot.ball
    if ball is not None and ball not in {each.name for each in kit.balls}:
        notes.append(f"the kit no longer has the ball {ball}: default used")
        ball = None
    return Choice(club.name, club.grade(owned).name, kit.ball(ball).name, tuple(notes))


def tilt_deg(*, shot: Shot, kit: Kit) -> float:
    """Spin-axis tilt of a shot, right +: sidespin, and its draw (left) or fade (right)."""
    tilt = shot.sidespin * kit.spin.side_tilt_deg
    if shot.curve is not None:
        size = shot.curve.tilt_deg or kit.spin.curve_tilt_deg
        tilt += size if shot.curve.kind == "fade" else -size
    return tilt


def check_spin(*, shot: Shot, kit: Kit, given: str) -> None:
    """Refuse spin or curve that the kit doesn't allow, with one sentence."""
    steps = kit.limits.spin_steps
    for name, value in (("back or top spin", shot.backspin), ("side spin", shot.sidespin)):
        if abs(value) > steps:
            raise InputError(
                f"The kit allows {steps:g} steps of {name}, not {abs(value):g}.", "", given
            )
    if abs(tilt_deg(shot=shot, kit=kit)) > kit.limits.tilt_deg:
        raise InputError(
            f"The kit lets a shot curve by {kit.limits.tilt_deg:g} degrees of tilt at most.",
            "",
            given,
        )


def batch(*, shots: list[Shot], choices: list[Choice], kit: Kit, kit_rack: KitRack) -> Shots:
    """The engine's batch of complete shots (wind, club and distance known)."""
    facts = np.array([_facts(shot) for shot in shots]).reshape(-1, 4)
    return Shots(
        row=np.array([kit_rack.row_of[c.club, c.grade, c.ball] for c in choices], dtype=np.intp),
        distance_m=facts[:, 0],
        height_m=facts[:, 1],
        wind_mps=facts[:, 2],
        wind_from_deg=facts[:, 3],
        spin_factor=spin_factor(
            backspin_steps=np.array([shot.backspin for shot in shots]),
            share_per_step=kit.spin.back_share,
        ),
        tilt_rad=np.radians([tilt_deg(shot=shot, kit=kit) for shot in shots]),
        onto=_onto(shots),
    )


def _onto(shots: list[Shot]) -> Rows | None:
    """The grounds the balls are to finish on, None where none of them is to."""
    if all(shot.onto is None for shot in shots):
        return None
    return np.array([onto_of(shot.onto) for shot in shots], dtype=np.intp)


def _facts(shot: Shot) -> tuple[float, float, float, float]:
    assert shot.distance is not None and shot.wind is not None
    distance_m = shot.distance.m
    height_m = shot.height.m(distance_m=distance_m) if shot.height else 0.0
    return distance_m, height_m, shot.wind.speed.mps, shot.wind.relative_deg


TURN_DEG = 10.0
NAMED_REACHING = 2
ANSWERS_KEPT = 512


@dataclass(frozen=True)
class Asked:
    """A complete wind question (wind, club and distance known) as ``given``, with a bag."""

    shot: Shot
    bag: Bag
    given: str = ""


Key = tuple[str, str | None, str | None]


def _key(asked: Asked) -> Key:
    """What an answer depends on: the shot, and what the bag says where the shot doesn't."""
    shot, bag = asked.shot, asked.bag
    return shot.model_dump_json(), bag.grades.get(shot.club or ""), bag.ball


class Caddie:
    """Answers for one kit; building it solves the full shot of every club, grade and ball.

    ``believed`` is what a community's own shots say of the law; without it, nothing is known yet.
    """

    def __init__(
        self, kit: Kit, *, kit_rack: KitRack | None = None, believed: Believed | None = None
    ) -> None:
        self.kit = kit
        self.kit_rack = kit_rack or build_rack(kit)
        self.believed = believed or unlearned(kit, self.kit_rack)
        self.grounds = grounds_of(kit, self.believed.rolls)
        self._kept: OrderedDict[Key, Answer] = OrderedDict()

    def answer(self, *, shot: Shot, bag: Bag | None = None, given: str = "") -> Answer:
        """The answer to a complete wind question (wind, club and distance known).

        Errors: InputError for spin beyond the kit, UnreachableShotError, TargetHeightError or
        TooStrongWindError with what would reach.
        """
        (found,) = self.answers([Asked(shot, bag or Bag(), given)])
        if isinstance(found, LeewardError):
            raise found
        return found

    def known(self, asked: Asked) -> Answer | None:
        """The answer to a question that was asked a moment ago, when it was a suggestion, say."""
        return self._kept.get(_key(asked))

    def answers(
        self, asked: Sequence[Asked], *, law: Law = allow_finish
    ) -> list[Answer | LeewardError]:
        """``answer`` of n questions in one batch: of each its answer or what it is refused with.

        ``law`` computes it. Errors: EngineError where the batch has no answer as a whole.
        """
        found: dict[int, Answer | LeewardError] = {}
        fresh: list[tuple[int, Asked, Choice]] = []
        for place, each in enumerate(asked):
            try:
                choice = self._choice(each)
            except InputError as error:
                found[place] = error
                continue
            known = self._kept.get(_key(each))
            if known is None:
                fresh.append((place, each, choice))
            else:
                found[place] = known
        for (place, *_), answer in zip(fresh, self._fresh(fresh, law), strict=True):
            found[place] = answer
        return [found[place] for place in range(len(asked))]

    def _choice(self, asked: Asked) -> Choice:
        """What is asked about. Errors: InputError for spin beyond the kit."""
        try:
            check_spin(shot=asked.shot, kit=self.kit, given=asked.given)
        except InputError as error:
            nothing = {"backspin": 0.0, "sidespin": 0.0, "curve": None}
            error.example = self._example([asked.shot.model_copy(update=nothing)], asked.bag)
            raise
        return choose(shot=asked.shot, bag=asked.bag, kit=self.kit)

    def _fresh(
        self, asked: list[tuple[int, Asked, Choice]], law: Law
    ) -> list[Answer | LeewardError]:
        if not asked:
            return []
        shots, choices = [each.shot for _, each, _ in asked], [choice for *_, choice in asked]
        base = batch(shots=shots, choices=choices, kit=self.kit, kit_rack=self.kit_rack)
        around = self._around(base, law)
        found: list[Answer | LeewardError] = []
        for number, (_, each, choice) in enumerate(asked):
            # As asked, in more wind, and with the wind turned.
            own = around.take(np.arange(number, 3 * len(asked), len(asked)))
            one = base.take(slice(number, number + 1))
            try:
                found.append(self._kept_answer(each, choice, one, own))
            except LeewardError as error:
                found.append(error)
        return found

    def _kept_answer(self, asked: Asked, choice: Choice, base: Shots, found: Allowances) -> Answer:
        self._require_playable(found, asked, choice, base)
        self._require_in_limits(found, asked.bag, asked.given)
        row = int(base.row[0])
        answer = answer_from(
            found,
            base,
            shot=asked.shot,
            choice=choice,
            kit=self.kit,
            charted=bool(self.kit_rack.rack.charted[row]),
            source=self.believed.sources[row],
        )
        self._kept[_key(asked)] = answer
        while len(self._kept) > ANSWERS_KEPT:
            self._kept.popitem(last=False)
        return answer

    @cached_property
    def hit_spread(self) -> HitSpread:
        """How hits spread by grade, as learned from the sums, or as stated before any was logged.

        Takes some 60 ms when first asked for: for a thread.
        """
        return spread_from(self.kit, self.believed.hits)

    def hits_of(self, shots: Shots, *, carry_m: Array) -> tuple[Array, Array, Array]:
        """Of n shots with their carries: spread along and across (m), and share of mishits."""
        grade, share = self._cell(shots, carry_m)
        return self.hit_spread.of(grade=grade, share=share, carry_m=carry_m)

    def doubt_of_hits(self, shots: Shots, *, carry_m: Array) -> tuple[Array, Array]:
        """Of n shots what is not known of the logarithm of their hits' spread: one standard
        deviation of what all clubs share, and of their own."""
        grade, share = self._cell(shots, carry_m)
        return self.hit_spread.doubt_of(grade=grade, share=share)

    def _cell(self, shots: Shots, carry_m: Array) -> tuple[Rows, Array]:
        share = np.clip(carry_m / self.kit_rack.rack.full_m[shots.row], 0.1, 1.1)
        return self.kit_rack.grade_of_row[shots.row], share

    @property
    def response(self) -> Response:
        """The learned response in every row of the rack."""
        return self.believed.response

    def source(self, choice: Choice) -> str:
        """Where what is said of a club, grade and ball comes from, in words."""
        return self.believed.sources[self._row(choice)]

    def mark_yd(self, choice: Choice, *, carry_yd: float) -> float:
        """Yards of one mark at a carry."""
        rack = self.kit_rack.rack.take(np.array([self._row(choice)]))
        return float(rack.mark_m(np.array([carry_yd * METRES_PER_YARD]))[0]) / METRES_PER_YARD

    def _row(self, choice: Choice) -> int:
        return self.kit_rack.row_of[choice.club, choice.grade, choice.ball]

    def believing(self, believed: Believed) -> "Caddie":
        """A caddie of the same kit with other beliefs."""
        return Caddie(self.kit, kit_rack=self.kit_rack, believed=believed)

    def allow(self, shots: Shots, law: Law = allow_finish) -> Allowances:
        """The answers on a batch of this kit's rows, of balls as they come down or finish."""
        grounds = None if shots.onto is None else self.grounds
        return law(
            rack=self.kit_rack.rack,
            shots=shots,
            grounds=grounds,
            over_full=self.kit.limits.over_full,
            response=self.response,
        )

    def _around(self, base: Shots, law: Law = allow_finish) -> Allowances:
        """Allowances of n shots as asked, then in more wind, then with the wind turned; (3 n,)."""
        windier = base.with_wind(
            wind_mps=base.wind_mps + MPS_PER_MPH, wind_from_deg=base.wind_from_deg
        )
        turned = base.with_wind(wind_mps=base.wind_mps, wind_from_deg=base.wind_from_deg + TURN_DEG)
        return self.allow(base.joined(windier).joined(turned), law)

    def _answerable(self, around: Allowances) -> np.ndarray:
        """Which of n shots (3 n answers around them) get an answer when they are asked."""
        held = around.verdict.reshape(3, -1) != Verdict.UNSOLVED
        first = around.take(slice(held.shape[1]))
        return answers(first, most_marks=self.kit.limits.marks) & held.all(axis=0)

    def _require_in_limits(self, found: Allowances, bag: Bag, given: str) -> None:
        marks = float(found.aim_marks[0])
        if marks > self.kit.limits.marks:
            name = self.kit.mark.name
            raise InputError(
                f"This needs an aim {marks:.0f} {name}s off, "
                f"and the kit allows {self.kit.limits.marks:g}; take a lower wind.",
                self._example([], bag),
                given,
            )

    def _require_playable(
        self, found: Allowances, asked: Asked, choice: Choice, base: Shots
    ) -> None:
        shot, bag, verdict = asked.shot, asked.bag, found.verdict[0]
        if verdict == Verdict.FINE and Verdict.UNSOLVED not in found.verdict:
            return
        if found.runs is not None and not found.runs.solved[0]:
            plain = shot.model_copy(update={"onto": None})
            raise no_finish(asked.shot, choice, bag, self._example([plain], bag), asked.given)
        reaching = self._reaching(shot, choice, bag)
        others = [
            shot.model_copy(update={"club": each.club, "grade": each.grade}) for each in reaching
        ]
        example = self._example(others, bag)
        if verdict in (Verdict.FINE, Verdict.UNSOLVED):
            raise TooStrongWindError(
                "no aim holds the ball against this wind",
                float(base.wind_mps[0]),
                float(found.aims.miss_m.max()),
                _named(reaching),
                example=example,
            )
        if not found.answered[0] and verdict != Verdict.TOO_LONG:
            raise TargetHeightError(
                "no swing of the club comes down on a target at this height",
                club=choice.club,
                grade=choice.grade,
                distance_m=float(base.distance_m[0]),
                height_m=float(base.height_m[0]),
                reaching=_named(reaching),
                example=example,
            )
        least_m = float(self.kit_rack.rack.short_m[int(base.row[0])])
        raise unreachable(found, choice, base, least_m, _named(reaching), example)

    def _example(self, likely: list[Shot], bag: Bag) -> str:
        """The first of these shots that has an answer, or else any question of this kit."""
        fallback = example_shot(self.kit, bag.units)
        return format_shot(next((shot for shot in likely if self._works(shot, bag)), fallback))

    def _works(self, shot: Shot, bag: Bag) -> bool:
        choice = choose(shot=shot, bag=bag, kit=self.kit)
        base = batch(shots=[shot], choices=[choice], kit=self.kit, kit_rack=self.kit_rack)
        return bool(self._answerable(self._around(base))[0])

    def reaching(self, *, shot: Shot, choice: Choice, bag: Bag) -> tuple[str, ...]:
        """Clubs of the bag that reach, with their grades, nearest to their full carry first."""
        return _named(self._reaching(shot, choice, bag))

    def _reaching(self, shot: Shot, choice: Choice, bag: Bag) -> list[Choice]:
        choices = [
            replace(choice, club=club.name, grade=_owned(bag, club)) for club in self.kit.clubs
        ]
        shots = batch(
            shots=[shot] * len(choices), choices=choices, kit=self.kit, kit_rack=self.kit_rack
        )
        found = self._around(shots)
        fine = np.flatnonzero(self._answerable(found))
        nearest = np.argsort(np.abs(1 - found.swing_share[fine]), kind="stable")[:NAMED_REACHING]
        best: list[int] = fine[nearest].tolist()
        return [choices[i] for i in best if choices[i] != choice]


def _named(choices: list[Choice]) -> tuple[str, ...]:
    return tuple(f"{choice.club} ({choice.grade})" for choice in choices)


def _owned(bag: Bag, club: Club) -> str:
    names = [grade.name for grade in club.grades]
    owned = bag.grades.get(club.name)
    return owned if owned in names else names[0]
