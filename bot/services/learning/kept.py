"""Kept results as the learning sees them: asked of the law as it is now, however it was then."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from bot.services.caddie.believed import grade_keys
from bot.services.caddie.caddie import Caddie
from engine.law import Shots, spin_factor
from engine.response_features import Features
from engine.response_refer import kept_features
from engine.response_sums import MISSED_COLUMNS, Results, missed_row
from storage.played import Played, Result

CM: Final = 100.0


@dataclass(frozen=True)
class Kept:
    """Results that teach: those somebody measured or that went in, with their effects, and misses
    that nobody measured; ``grade`` by ``grade_keys`` of the kit."""

    shots: tuple[Result, ...]
    results: Results
    missed: tuple[Result, ...]
    grade_of: dict[tuple[str, str], int]

    @property
    def missed_sums(self) -> np.ndarray:
        """Sums of the misses nobody measured, (grades, 5)."""
        total = np.zeros((len(self.grade_of), MISSED_COLUMNS))
        for result in self.missed:
            played = result.played
            total[self.grade_of[played.club, played.grade]] += side_row(played)
        return total


def kept_results(caddie: Caddie, results: list[Result]) -> Kept:
    """What these results teach under the caddie's law; what no law knows is left away.

    Some microseconds a result: for a thread.
    """
    grade_of = {key: n for n, key in enumerate(grade_keys(caddie.kit))}
    known = [each for each in results if _can_be_asked(caddie, each.played)]
    shots = [each for each in known if each.played.observed_cm is not None]
    missed = [each for each in known if _unmeasured(each.played)]
    features, answered = _features(caddie, [each.played for each in shots])
    at = np.flatnonzero(answered)
    shots = [shots[i] for i in at]
    observed = [each.played.observed_cm or (0, 0) for each in shots]
    return Kept(
        shots=tuple(shots),
        results=Results(
            np.array([grade_of[each.played.club, each.played.grade] for each in shots], dtype=int),
            features.take(at),
            np.array(observed, float).reshape(-1, 2) / CM,
            np.array([each.played.holed for each in shots], dtype=bool),
        ),
        missed=tuple(missed),
        grade_of=grade_of,
    )


def side_row(played: Played) -> tuple[float, ...]:
    """What a miss nobody measured adds, with its side as said."""
    long, right = played.missed_side or (0, 0)
    return missed_row(short=long < 0, long=long > 0, left=right < 0, right=right > 0)


def _can_be_asked(caddie: Caddie, played: Played) -> bool:
    known = (played.club, played.grade, played.ball) in caddie.kit_rack.row_of
    return known and played.wind_mmps is not None and bool(played.carry_cm or played.share)


def _unmeasured(played: Played) -> bool:
    """A miss without a number; of results kept before the carry was, the limits were not noted."""
    if played.several is not None:
        return False
    if played.onto or played.ended_cm is not None:
        return False  # where it ended says nothing of where it came down
    fits = played.effect_cm is not None or played.carry_cm is None
    return fits and not played.holed and played.miss_cm is None and played.observed_cm is None


def _features(caddie: Caddie, played: list[Played]) -> tuple[Features, np.ndarray]:
    rack, row_of = caddie.kit_rack.rack, caddie.kit_rack.row_of
    row = np.array([row_of[each.club, each.grade, each.ball] for each in played], dtype=np.intp)
    winds = [each.wind_mmps or (0, 0) for each in played]
    steps = np.array([each.backspin or 0.0 for each in played])
    shots = Shots(
        row=row,
        distance_m=np.array([_carry_m(caddie, each) for each in played], dtype=float),
        height_m=np.array([(each.height_cm or 0) / CM for each in played], dtype=float),
        wind_mps=np.array([math.hypot(*wind) / 1000 for wind in winds], dtype=float),
        wind_from_deg=np.array(
            [math.degrees(math.atan2(-right, -along)) % 360.0 for along, right in winds],
            dtype=float,
        ),
        spin_factor=spin_factor(backspin_steps=steps, share_per_step=caddie.kit.spin.back_share),
        tilt_rad=np.radians(np.array([each.tilt_deg or 0.0 for each in played], dtype=float)),
    )
    return kept_features(rack=rack, shots=shots)


def _carry_m(caddie: Caddie, played: Played) -> float:
    """The target's carry; results kept before it was have the share alone."""
    if played.carry_cm is not None:
        return played.carry_cm / CM
    row = caddie.kit_rack.row_of[played.club, played.grade, played.ball]
    return (played.share or 0.0) * float(caddie.kit_rack.rack.full_m[row])
