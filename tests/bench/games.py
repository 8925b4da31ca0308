"""The hidden games of the worlds bench: how each answers the wind, and who plays in it."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from bot.services.caddie.rack import build_rack
from engine.aerodynamics import SMITS_SMITH
from engine.launch import full_shots
from engine.law import Shots, Verdict, allow
from engine.motion import STANDARD_AIR, Air
from engine.rack import Rack
from engine.response_features import Features, Situations, features
from engine.response_tree import GradeTree
from engine.robust import Floats
from shared.units import METRES_PER_YARD, MPS_PER_MPH
from tests.kits import demo_kit

CLUBS = ("5-wood", "hybrid", "4-iron", "5-iron", "6-iron", "8-iron", "9-iron", "pitching wedge")
GRADES_OF_CLUB = 2
GRADES = len(CLUBS) * GRADES_OF_CLUB
SHOTS = 240
LAST = SHOTS * 2 // 3
HIT_SD_M = 0.4 * METRES_PER_YARD
HOLE_M = 0.6 * METRES_PER_YARD  # a shot that comes down nearer goes in
WIDE_HOLE_M = 0.9 * METRES_PER_YARD
MOST_MPH = 14.0
MOST_MISS_YD = 0.65
MOST_OVER_REFERENCE = 1.10
LEAST_HELD = 0.80
MOST_WIDTH = 3.0
MOST_OFF = 0.05  # of the truth, where one miss in five is measured
MISTYPED = 0.08
MEASURED = 0.2
CHECK_EVERY = 20  # shots between two looks for a change of the game
EACH_SHOT, REFRESH = 40, 4  # what is known moves with each of so many shots, then with every 4th

Game = Callable[["Played", np.random.Generator], Floats]


@dataclass(frozen=True)
class Played:
    """Shots of all seeds, (seeds, turns) flattened seed by seed: what was set up and what the law
    says of it, ``law_m`` (n, 2) the allowance."""

    seeds: int
    shots: Shots
    grade: np.ndarray
    share: Floats
    law_m: Floats

    @property
    def turn(self) -> np.ndarray:
        return np.tile(np.arange(SHOTS), self.seeds)

    @property
    def seed(self) -> np.ndarray:
        return np.repeat(np.arange(self.seeds), SHOTS)

    def of_seed(self, low: float, high: float, rng: np.random.Generator) -> Floats:
        """A number of each seed, evenly between two, for every shot."""
        return rng.uniform(low, high, self.seeds)[self.seed]

    @property
    def mph(self) -> Floats:
        return self.shots.wind_mps / MPS_PER_MPH

    def upwind(self, size_m: Floats) -> Floats:
        """An allowance of this size against the wind, (n, 2)."""
        turn = np.radians(self.shots.wind_from_deg)
        return np.column_stack((size_m * np.cos(turn), size_m * np.sin(turn)))


@dataclass(frozen=True)
class World:
    """A game, what is held of it, and how its members log."""

    name: str
    game: Game
    most_miss: float | None = None
    near_reference: bool = False
    measured: float = 1.0
    hole_m: float = 0.0
    silent: bool = False  # of a miss nobody measured nothing is said at all
    mistyped: float = 0.0
    resets: bool = False


def linear(played: Played, rng: np.random.Generator) -> Floats:
    """Linear in wind and carry, the same into and helping."""
    into, across = played.of_seed(0.0035, 0.0075, rng), played.of_seed(0.0035, 0.0075, rng)
    size = played.mph * played.shots.distance_m
    return played.upwind(size) * np.column_stack((into, across))


def faster(played: Played, rng: np.random.Generator) -> Floats:
    """Grows faster than linear, with an offset."""
    power, size = played.of_seed(1.2, 1.6, rng), played.of_seed(0.004, 0.007, rng)
    wind = 10.0 * (played.mph / 10.0) ** power * size * played.shots.distance_m
    offset = np.column_stack((played.of_seed(-1.5, 1.5, rng), played.of_seed(-1.5, 1.5, rng)))
    return played.upwind(wind) + offset * METRES_PER_YARD


def factor(played: Played, rng: np.random.Generator) -> Floats:
    return played.law_m * np.column_stack(
        (played.of_seed(0.7, 1.4, rng), played.of_seed(0.7, 1.4, rng))
    )


def itself(played: Played, rng: np.random.Generator) -> Floats:
    return played.law_m


def other_law(played: Played, rng: np.random.Generator) -> Floats:
    """Another published law of drag and lift, its launches made anew for the same carries."""
    air = replace(STANDARD_AIR, law=SMITS_SMITH)
    found = allow(rack=rack(air), shots=played.shots, over_full=0.5, air=air)
    solved = found.verdict != Verdict.UNSOLVED
    return np.where(
        solved[:, None], np.column_stack((found.law_long_m, found.law_right_m)), played.law_m
    )


def changes(played: Played, rng: np.random.Generator) -> Floats:
    """Another game from the middle on."""
    late = (played.turn >= SHOTS // 2)[:, None]
    return np.where(late, 0.6 * linear(played, rng), factor(played, rng))


def mixed(played: Played, rng: np.random.Generator) -> Floats:
    """The law times a factor that differs from grade to grade."""
    gain = rng.normal(1.1, 0.1, (played.seeds * GRADES, 2))
    return played.law_m * gain[played.grade]


def dead_zone(played: Played, rng: np.random.Generator) -> Floats:
    """No wind is felt below some speed, and linear from there."""
    felt = np.maximum(played.mph - played.of_seed(2.0, 4.0, rng), 0.0)
    return played.upwind(felt * played.shots.distance_m * played.of_seed(0.005, 0.009, rng))


def saturates(played: Played, rng: np.random.Generator) -> Floats:
    """Linear up to some speed, and no more beyond it."""
    felt = np.minimum(played.mph, played.of_seed(8.0, 11.0, rng))
    return played.upwind(felt * played.shots.distance_m * played.of_seed(0.004, 0.008, rng))


def steps(played: Played, rng: np.random.Generator) -> Floats:
    """The game blows whole miles an hour, whatever it shows, and helps half as much as it hurts."""
    felt = np.round(played.mph)
    found = played.upwind(felt * played.shots.distance_m * played.of_seed(0.005, 0.008, rng))
    found[:, 0] *= np.where(found[:, 0] < 0.0, 0.5, 1.0)
    return found


WORLDS = (
    World("linear, into = helping", linear, most_miss=MOST_MISS_YD),
    World("faster than linear, an offset", faster, most_miss=MOST_MISS_YD),
    World("the law times a factor", factor, near_reference=True),
    World("the law itself", itself, near_reference=True),
    World("another law of drag and lift", other_law),
    World("changes half way", changes, resets=True),
    World("two in three go in", factor, hole_m=HOLE_M),
    World("nine in ten go in", factor, hole_m=WIDE_HOLE_M),
    World("one miss in five measured", factor, measured=MEASURED, hole_m=HOLE_M),
    World("the same, nine in ten go in", factor, measured=MEASURED, hole_m=WIDE_HOLE_M),
    World("misses half measured or silent", factor, measured=0.5, hole_m=HOLE_M, silent=True),
    World("mistyped winds", factor, mistyped=MISTYPED),
    World("a bag of mixed grades", mixed),
    World("nothing below some speed", dead_zone),
    World("no more beyond some speed", saturates),
    World("whole mph, helping halved", steps),
)


def rack(air: Air = STANDARD_AIR) -> Rack:
    """Two grades of each club, the second a fifteenth shorter."""
    kit = demo_kit()
    built = build_rack(kit)
    ball = kit.balls[0].name
    rows = [built.row_of[club, kit.club(club).grades[0].name, ball] for club in CLUBS]
    first = built.rack.take(np.repeat(rows, GRADES_OF_CLUB))
    full_m = first.full_m * np.tile((1.0, 14.0 / 15.0), len(CLUBS))
    names = [kit.club(club).launch or club for club in np.repeat(CLUBS, GRADES_OF_CLUB)]
    return replace(first, full_m=full_m, full=full_shots(rows=names, carry_m=full_m, air=air))


def tree_of(seeds: int) -> GradeTree:
    club = np.repeat(np.arange(len(CLUBS)), GRADES_OF_CLUB)
    family = np.array([0, 0, 1, 1, 1, 2, 2, 3])[club]
    return GradeTree.from_labels(
        group=np.repeat(np.arange(seeds), GRADES),
        family=np.tile(family, seeds),
        club=np.tile(club, seeds),
    )


def set_up(rng: np.random.Generator, seeds: int) -> Played:
    """Shots as weekly holes ask for them: any club, .65 to 1 of full carry, 0 to 14 mph."""
    here, count = rack(), seeds * SHOTS
    row = rng.integers(0, GRADES, count)
    share = rng.uniform(0.68, 1.0, count)
    shots = Shots(
        row=row,
        distance_m=share * here.full_m[row],
        height_m=np.where(rng.random(count) < 0.5, rng.uniform(-8.0, 8.0, count), 0.0),
        wind_mps=rng.uniform(0.0, MOST_MPH, count) * MPS_PER_MPH,
        wind_from_deg=30.0 * rng.integers(0, 12, count).astype(np.float64),
        spin_factor=np.ones(count),
        tilt_rad=np.zeros(count),
    )
    grade = row + GRADES * np.repeat(np.arange(seeds), SHOTS)
    return Played(seeds, shots, grade, share, law_of(shots))


def law_of(shots: Shots) -> Floats:
    found = allow(rack=rack(), shots=shots, over_full=0.5)
    return np.column_stack((found.law_long_m, found.law_right_m))


def features_of(played: Played) -> Features:
    shots = played.shots
    return features(
        Situations(
            law_long_m=played.law_m[:, 0],
            law_right_m=played.law_m[:, 1],
            carry_m=shots.distance_m,
            share=played.share,
            height_m=shots.height_m,
            wind_mps=shots.wind_mps,
            from_deg=shots.wind_from_deg,
        )
    )


def mistyped(played: Played, rate: float, rng: np.random.Generator) -> Played:
    """What members typed: the wind from another side, once in a while."""
    shots = played.shots
    wrong = rng.random(len(shots)) < rate
    other = rng.choice((-1.0, 1.0), len(shots)) * shots.wind_from_deg + 180.0
    turned = shots.wind_from_deg.copy()
    turned[wrong] = other[wrong]
    typed = shots.with_wind(wind_mps=shots.wind_mps, wind_from_deg=turned)
    return replace(played, shots=typed, law_m=law_of(typed))
