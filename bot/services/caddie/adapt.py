"""Lines read once and moved to other readers: models in, one batch between, cards' facts out."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bot.services.caddie.caddie import Caddie, batch, choose
from bot.services.caddie.ground import ground_facts
from bot.services.caddie.rack import Choice
from engine.batch import Rows
from engine.law import Allowances, Shots
from engine.move import Limits, Moves, Tested, move
from engine.rack import Array
from engine.reach import Verdict
from engine.response import HALF_WIDTH_90
from shared.answer import Allowance, GroundFacts, Offset
from shared.bag import Bag
from shared.book import Line, LineShot, Room
from shared.errors import InputError, ShotTextError
from shared.kit import Kit
from shared.quantities import Length, Speed, Wind
from shared.shot import Shot
from shared.shot_text import format_shot, parse
from shared.shot_text.write import example_shot, example_wind, in_units, wind_text
from shared.units import LENGTH_UNIT_OF, METRES_PER_YARD, SPEED_UNIT_OF, UnitSystem
from shared.wording import wind_words

Noted = tuple[float, float, str]  # right, long, unit


@dataclass(frozen=True)
class ReadShot:
    """One shot of a line, complete, in the wind it was tested in.

    ``worked`` is the allowance that worked as (right, long, unit), None where none was noted.
    """

    shot: Shot
    worked: Noted | None
    room: Room
    leaves_yd: tuple[float, float] | None
    note: str


@dataclass(frozen=True)
class ReadLine:
    """A line whose every shot has a wind, a club and a distance."""

    line: Line
    wind: Wind
    shots: tuple[ReadShot, ...]


def read_line(*, line: Line, kit: Kit, bearing_deg: float | None = None) -> ReadLine:
    """Read a line's texts.

    Errors: ShotTextError, InputError for a shot without club or distance.
    """
    wind = read_wind(text=line.wind, kit=kit, bearing_deg=bearing_deg)
    shots = tuple(_read_shot(each, wind, kit, bearing_deg) for each in line.shots)
    return ReadLine(line, wind, shots)


def read_wind(
    *, text: str, kit: Kit, bearing_deg: float | None = None, units: UnitSystem = "yards"
) -> Wind:
    """The wind a text names; a bare speed is in ``units``, which for a book's own texts is yards'.

    Errors: ShotTextError, InputError where it names something else.
    """
    example = wind_text(example_wind(units))
    try:
        shot = parse(text, kit=kit, bearing_deg=bearing_deg, units=units)
    except ShotTextError as error:
        raise replace(error, example=example) from error
    if shot.wind is None or shot != Shot(wind=shot.wind):
        raise InputError("This should be a wind and nothing else.", example, text)
    return on_hole(shot.wind, bearing_deg)


def on_hole(wind: Wind, bearing_deg: float | None) -> Wind:
    """A wind by the compass as it blows on a hole of this bearing, whatever it was noted with."""
    if wind.compass_deg is None or bearing_deg is None:
        return wind
    return wind.model_copy(update={"bearing_deg": round(bearing_deg, 1) % 360.0})


def said_for(text: str, *, kit: Kit, bearing_deg: float | None, units: UnitSystem) -> str:
    """A wind of the book with the reader's units written out; as it stands if it can't be read."""
    try:
        wind = read_wind(text=text, kit=kit, bearing_deg=bearing_deg)
    except InputError:
        return text
    return text if wind.speed.unit == SPEED_UNIT_OF[units] else wind_words(wind, units)


def shot_said(read: ReadShot, text: str, units: UnitSystem) -> str:
    """A shot of the book in the reader's units, to tenths; in its own words where they are theirs.

    Its wind is left out, as it stands with the line, unless the shot was noted in its own.
    """
    shot = read.shot
    unit = LENGTH_UNIT_OF[units]
    assert shot.distance is not None
    heights = (unit, "%") if shot.height is not None else ()
    if shot.distance.unit == unit and (shot.height is None or shot.height.unit in heights):
        return text
    moved = in_units(shot.model_copy(update={"wind": None}), units)
    assert moved.distance is not None
    near = Length(value=round(moved.distance.value, 1), unit=unit)
    changed: dict[str, object] = {"distance": near}
    if moved.height is not None:
        height = moved.height
        changed["height"] = height.model_copy(update={"value": round(height.value, 1)})
    return format_shot(moved.model_copy(update=changed))


def _read_shot(each: LineShot, wind: Wind, kit: Kit, bearing_deg: float | None) -> ReadShot:
    shot = parse(each.shot, kit=kit, bearing_deg=bearing_deg)
    for noun, value in (("club", shot.club), ("distance", shot.distance)):
        if value is None:
            example = format_shot(example_shot(kit, "yards").model_copy(update={"wind": None}))
            raise InputError(f"A shot of a line needs a {noun}.", example, each.shot)
    if shot.wind is None:
        shot = shot.model_copy(update={"wind": wind})
    else:
        shot = shot.model_copy(update={"wind": on_hole(shot.wind, bearing_deg)})
    worked = each.worked and (each.worked.right, each.worked.long, each.worked.unit)
    return ReadShot(shot, worked or None, each.room or Room(), each.leaves_yd, each.note)


@dataclass(frozen=True)
class Case:
    """One line for one reader; ``wind`` None plays it in the wind it was tested in.

    ``own_bag`` False keeps the grades and the ball of the note.
    """

    line: ReadLine
    bag: Bag
    wind: Wind | None = None
    own_bag: bool = True


@dataclass(frozen=True)
class AdaptedShot:
    """One shot of a line for one reader; ``shot`` is in the reader's wind.

    ``tested`` is the note's allowance, ``by_wind`` and ``by_bag`` what changed it. ``lands`` is
    where the ball comes down from the target when the game's limits cut the set-up. ``ground`` is
    what it does where it is to finish at the target.
    """

    shot: Shot
    read: ReadShot
    choice: Choice
    tested_choice: Choice
    allowance: Allowance
    tested: Allowance
    by_wind: Offset
    by_bag: Offset
    margin: Offset
    lands: Offset
    distance_yd: float
    plays_yd: float
    most_yd: float
    short_yd: float
    share: float
    setup_yd: float
    tested_setup_yd: float
    answered: bool
    fit: Verdict
    ground: GroundFacts | None = None

    @property
    def swing_share(self) -> float:
        """Share of the full swing: what the shot plays over the full carry."""
        return self.plays_yd / (self.plays_yd - self.setup_yd)


@dataclass(frozen=True)
class AdaptedLine:
    """A line for one reader: its shots in order, and whether all of them can be played."""

    line: ReadLine
    shots: tuple[AdaptedShot, ...]

    @property
    def letter(self) -> str:
        """Which variant it is."""
        return self.line.line.variant

    @property
    def playable(self) -> bool:
        """Whether every shot can be played."""
        return all(shot.fit == Verdict.FINE for shot in self.shots)

    @property
    def margin_yd(self) -> float:
        """The largest margin of its shots."""
        return max(float(np.hypot(s.margin.right_yd, s.margin.long_yd)) for s in self.shots)


def adapt(*, caddie: Caddie, cases: list[Case]) -> list[AdaptedLine]:
    """Every case's line moved to its reader, all shots of all cases in one flight."""
    if not cases:
        return []
    plan = Plan(caddie, cases)
    shots = _adapted(caddie, plan, plan.moves())
    ends = np.cumsum([len(case.line.shots) for case in cases])
    starts = ends - [len(case.line.shots) for case in cases]
    return [
        AdaptedLine(case.line, tuple(shots[start:end]))
        for case, start, end in zip(cases, starts, ends, strict=True)
    ]


def best_of(lines: list[AdaptedLine], named: Collection[str] = ()) -> AdaptedLine | None:
    """The variant that fits its reader best: playable, then by status, then of least margin.

    Of the same status, those the results speak for (``named``, by letter) come first.
    """
    fit = [line for line in lines if line.playable and not line.line.line.retired]
    if not fit:
        return None
    return min(
        fit, key=lambda line: (line.line.line.rank, line.letter not in named, line.margin_yd)
    )


class Plan:
    """The shots of some cases as the engine's batches: as tested, and as their readers hit them."""

    def __init__(self, caddie: Caddie, cases: list[Case]) -> None:
        self.caddie = caddie
        self.tested: list[Shot] = []
        self.own: list[Shot] = []
        self.reads: list[ReadShot] = []
        self.tested_choices: list[Choice] = []
        self.choices: list[Choice] = []
        winds: list[tuple[float, float]] = []
        for case in cases:
            for read in case.line.shots:
                winds.append(_reader_wind(case, read.shot))
                self._add(case, read, winds[-1])
        self.winds = np.array(winds)
        self.tested_batch = self._batch(self.tested, self.tested_choices)
        self.own_batch = self._batch(self.own, self.choices)
        self.notes = _tested(self)

    def moves(self) -> Moves:
        """The moves of all shots to their readers, in one flight."""
        speed, direction = self.winds[:, 0], self.winds[:, 1]
        windy = self.tested_batch.with_wind(wind_mps=speed, wind_from_deg=direction)
        own = self.own_batch.with_wind(wind_mps=speed, wind_from_deg=direction)
        found = self.caddie.allow(self.tested_batch.joined(windy).joined(own))
        count = np.arange(len(own))
        was, between, now = (found.take(count + k * len(own)) for k in range(3))
        return self._move(self.notes, was, between, now)

    def fits(self, index: Rows, winds: Array) -> NDArray[np.intp]:
        """Whether the shots at ``index`` (which may repeat) fit ``winds`` (n, 2)."""
        own = self.own_batch.take(index)
        now = self.caddie.allow(own.with_wind(wind_mps=winds[:, 0], wind_from_deg=winds[:, 1]))
        was = self._was.take(index)
        return self._move(self.notes.take(index), was, now, now).fit

    @cached_property
    def _was(self) -> Allowances:
        return self.caddie.allow(self.tested_batch)

    def _move(self, notes: Tested, was: Allowances, between: Allowances, now: Allowances) -> Moves:
        kit = self.caddie.kit
        return move(
            rack=self.caddie.kit_rack.rack,
            response=self.caddie.response,
            was=was,
            between=between,
            now=now,
            tested=notes,
            limits=Limits(over_full=kit.limits.over_full, marks=kit.limits.marks),
        )

    def _add(self, case: Case, read: ReadShot, wind: tuple[float, float]) -> None:
        kit = self.caddie.kit
        tested = choose(shot=read.shot, bag=None, kit=kit)
        speed = Speed(value=wind[0], unit="m/s")
        own = read.shot.model_copy(update={"wind": Wind(speed=speed, from_deg=wind[1])})
        if case.own_bag:
            own = own.model_copy(update={"grade": None, "ball": None})
        self.reads.append(read)
        self.tested.append(read.shot)
        self.tested_choices.append(tested)
        self.own.append(own)
        self.choices.append(choose(shot=own, bag=case.bag, kit=kit) if case.own_bag else tested)

    def _batch(self, shots: list[Shot], choices: list[Choice]) -> Shots:
        kit, rack = self.caddie.kit, self.caddie.kit_rack
        return batch(shots=shots, choices=choices, kit=kit, kit_rack=rack)


def turned(*, line: Wind, shot: Wind, speed_mps: float, from_deg: float) -> tuple[float, float]:
    """A reader's wind at the tee, as (m/s, degrees from) for a shot of the line.

    A shot noted in its own wind keeps its turn from the line's wind and its ratio of speeds: it
    plays in another direction, or in shelter.
    """
    ratio = shot.speed.mps / line.speed.mps if line.speed.mps else 1.0
    return speed_mps * ratio, (from_deg + shot.relative_deg - line.relative_deg) % 360.0


def _reader_wind(case: Case, shot: Shot) -> tuple[float, float]:
    assert shot.wind is not None
    if case.wind is None:
        return shot.wind.speed.mps, shot.wind.relative_deg
    return turned(
        line=case.line.wind,
        shot=shot.wind,
        speed_mps=case.wind.speed.mps,
        from_deg=case.wind.relative_deg,
    )


def _tested(plan: Plan) -> Tested:
    rack = plan.caddie.kit_rack.rack.take(plan.tested_batch.row)
    mark_m = rack.mark_m(plan.tested_batch.distance_m)
    worked = [read.worked or (0.0, 0.0, "yd") for read in plan.reads]
    scale = np.where([unit == "marks" for _, _, unit in worked], mark_m, METRES_PER_YARD)
    rooms = [
        [side or 0.0 for side in (r.short_yd, r.long_yd, r.left_yd, r.right_yd)]
        for r in (read.room for read in plan.reads)
    ]
    return Tested(
        noted=np.array([read.worked is not None for read in plan.reads]),
        long_m=np.array([long for _, long, _ in worked]) * scale,
        right_m=np.array([right for right, _, _ in worked]) * scale,
        room_m=np.array(rooms).T * METRES_PER_YARD,
    )


def _adapted(caddie: Caddie, plan: Plan, moves: Moves) -> list[AdaptedShot]:
    rack = caddie.kit_rack.rack.take(plan.own_batch.row)
    distance_m = plan.own_batch.distance_m
    tested_rack = caddie.kit_rack.rack.take(plan.tested_batch.row)
    tested_mark_yd = tested_rack.mark_m(distance_m) / METRES_PER_YARD
    mark_yd = moves.mark_m / METRES_PER_YARD
    runs, yd = moves.runs, _in_yards(moves)
    short_yd = rack.short_m / METRES_PER_YARD
    share = distance_m / rack.full_m
    return [
        AdaptedShot(
            shot=plan.own[i],
            read=plan.reads[i],
            choice=plan.choices[i],
            tested_choice=plan.tested_choices[i],
            allowance=_allowance(yd["right_m"][i], yd["long_m"][i], mark_yd[i]),
            tested=_allowance(yd["tested_right_m"][i], yd["tested_long_m"][i], tested_mark_yd[i]),
            by_wind=_offset(yd["wind_right_m"][i], yd["wind_long_m"][i]),
            by_bag=_offset(yd["bag_right_m"][i], yd["bag_long_m"][i]),
            margin=_offset(HALF_WIDTH_90 * yd["sd_right_m"][i], HALF_WIDTH_90 * yd["sd_long_m"][i]),
            lands=_offset(yd["lands_right_m"][i], yd["lands_long_m"][i]),
            distance_yd=float(distance_m[i]) / METRES_PER_YARD,
            plays_yd=yd["plays_m"][i],
            most_yd=yd["most_m"][i],
            short_yd=float(short_yd[i]),
            share=float(share[i]),
            setup_yd=yd["setup_m"][i],
            tested_setup_yd=yd["tested_setup_m"][i],
            answered=bool(moves.answered[i]),
            fit=Verdict(int(moves.fit[i])),
            ground=runs and ground_facts(runs, i, onto=plan.own[i].onto, distance_m=distance_m[i]),
        )
        for i in range(len(plan.own))
    ]


def _in_yards(moves: Moves) -> dict[str, list[float]]:
    """Every length of the moves in yards, as plain floats."""
    return {
        name: (values / METRES_PER_YARD).tolist()
        for name, values in vars(moves).items()
        if name.endswith("_m")
    }


def _allowance(right_yd: float, long_yd: float, mark_yd: float) -> Allowance:
    return Allowance(
        right_yd=right_yd,
        long_yd=long_yd,
        right_marks=right_yd / float(mark_yd),
        long_marks=long_yd / float(mark_yd),
    )


def _offset(right_yd: float, long_yd: float) -> Offset:
    return Offset(right_yd=right_yd, long_yd=long_yd)
