"""Numbers and errors in the words a player reads. The one place where an error becomes text."""

import re
import unicodedata
from collections.abc import Sequence

from shared.answer import Allowance
from shared.errors import (
    EngineError,
    InputError,
    KitFileError,
    LeewardError,
    NotConvergedError,
    StorageError,
    TargetHeightError,
    TooStrongWindError,
    UnreachableShotError,
)
from shared.quantities import Speed, Wind
from shared.shot import Shot
from shared.shot_text import format_shot
from shared.units import (
    METRES_PER_YARD,
    MPS_PER,
    SPEED_UNIT_OF,
    UNITS,
    UnitSystem,
    distance_number,
    distance_text,
    speed_text,
)

SMALL = 0.05  # below this an offset shows as 0.0 and is left out
LONGEST_QUOTE = 120
RIGHT_EXAMPLE = "8.4 mph from 2, 5-iron, 165"
_INVISIBLE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def length(yards: float, units: UnitSystem, digits: int = 1) -> str:
    """A length in the reader's unit: '8.2 yd'."""
    return distance_text(yards * METRES_PER_YARD, units, digits=digits)


def speed(mps: float, units: UnitSystem) -> str:
    """A wind speed in the reader's unit: '8.4 mph', '30 mph'."""
    return speed_text(mps, units)


def wind_in(wind: Wind, units: UnitSystem) -> Wind:
    """A wind in the reader's unit, to tenths, from where it comes relative to the line."""
    unit = SPEED_UNIT_OF[units]
    shown = Speed(value=round(wind.speed.mps / MPS_PER[unit], 1), unit=unit)
    return Wind(speed=shown, from_deg=wind.relative_deg)


def wind_words(wind: Wind, units: UnitSystem) -> str:
    """A wind in the reader's unit, as a shot text: '8.4 mph from 2', 'calm'."""
    shown = wind_in(wind, units)
    return format_shot(Shot(wind=shown)) if shown.speed.value else "calm"  # it comes from nowhere


def offset(*, right: float, long: float, unit: str = "", scale: float = 1.0) -> str:
    """An offset in words: '5.1 marks right, 2.1 long'; 'none' where both are next to nothing."""
    right, long = right * scale, long * scale
    parts: list[str] = []
    for value, plus, minus in ((right, "right", "left"), (long, "long", "short")):
        if abs(value) >= SMALL:
            named = f" {unit}" if unit and not parts else ""
            parts.append(f"{abs(value):.1f}{named} {plus if value > 0 else minus}")
    return ", ".join(parts) or "none"


def from_full(
    setup_yd: float, units: UnitSystem, *, level: str = "full", bare: bool = False
) -> str:
    """A set-up counted from the full carry: 'full +5 yd', 'full −12 m', or ``level``.

    ``bare`` leaves the unit out.
    """
    words = length(abs(setup_yd), units, 0)
    if words.split()[0] == "0":
        return level
    return f"full {'+' if setup_yd > 0 else '−'}{words.split()[0] if bare else words}"


def aim_words(allowance: Allowance, *, units: UnitSystem, mark: str) -> str:
    """An allowance in marks and yards: '5.1 marks (8.2 yd) right, 2.1 (3.4 yd) long', or 'none'."""
    parts: list[str] = []
    for marks, yards, plus, minus in (
        (allowance.right_marks, allowance.right_yd, "right", "left"),
        (allowance.long_marks, allowance.long_yd, "long", "short"),
    ):
        if abs(marks) >= SMALL:
            named = f" {mark}s" if not parts else ""
            way = plus if marks > 0 else minus
            parts.append(f"{abs(marks):.1f}{named} ({length(abs(yards), units)}) {way}")
    return ", ".join(parts) or "none"


def offset_in(units: UnitSystem, *, right_yd: float, long_yd: float) -> str:
    """An offset of yards in the reader's unit."""
    scale = distance_number(METRES_PER_YARD, units)
    return offset(right=right_yd, long=long_yd, unit=UNITS[units].distance, scale=scale)


def variants_words(variants: Sequence[str]) -> str:
    """Names of lines, those in a row as one: 'A to H, K, S1 to S4'."""
    runs: list[list[str]] = []
    for name in variants:
        if runs and _follows(runs[-1][-1], name):
            runs[-1].append(name)
        else:
            runs.append([name])
    said = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs]
    return ", ".join(said)


def _follows(last: str, name: str) -> bool:
    if last[1:].isdecimal() and name[1:].isdecimal():
        return last[0] == name[0] and int(name[1:]) == int(last[1:]) + 1
    return len(last) == len(name) == 1 and ord(name) == ord(last) + 1


def plural(count: float, noun: str) -> str:
    """'1 shot', '3 shots'."""
    return f"{count:g} {noun}" if count == 1 else f"{count:g} {noun}s"


def listed(names: tuple[str, ...] | list[str], last: str = "or") -> str:
    """'a', 'a or b', 'a, b or c'."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def quoted(text: str) -> str:
    """A person's own text, safe to show: one line, clipped, no markdown, no mention, isolated.

    Characters that show nothing (controls, direction marks) become a middle dot.
    """
    seen = "".join("·" if unicodedata.category(c) in _INVISIBLE else c for c in text)
    flat = re.sub(r"\s+", " ", seen).strip().replace("`", "'")
    if len(flat) > LONGEST_QUOTE:
        flat = flat[: LONGEST_QUOTE - 1] + "…"
    return f"`{flat}`" if flat else "nothing"


def error_sentence(error: LeewardError, units: UnitSystem = "yards") -> str:
    """What went wrong in one sentence, without the example."""
    if isinstance(error, KitFileError):
        line = f"line {error.line}" if error.line else ""
        place = ", ".join(part for part in (error.file, line, error.field) if part)
        return f"{place}: {error.sentence[:1].lower()}{error.sentence[1:]}"
    if isinstance(error, InputError):
        return error.sentence
    if isinstance(error, UnreachableShotError):
        return _unreachable(error, units)
    if isinstance(error, TargetHeightError):
        return _target_height(error, units)
    if isinstance(error, TooStrongWindError):
        wind = speed(error.speed_mps, units)
        if error.reaching:
            return f"This club can't hold {wind} of wind; the {listed(error.reaching)} would reach."
        return (
            f"No aim holds this ball against a wind of {wind}; take a lower wind or a longer club."
        )
    if isinstance(error, NotConvergedError):
        left = length(error.miss_m / METRES_PER_YARD, units)
        return f"No shot was found that lands on the target; the nearest try was {left} away."
    if isinstance(error, EngineError):
        return f"This can't be computed: {error.reason}."
    if isinstance(error, StorageError):
        said = str(error).rstrip(".")
        return f"{said[:1].upper()}{said[1:]}."
    return "Something went wrong that should not have; the error has been logged."


def error_example(error: LeewardError) -> str:
    """A right example to go with the sentence; empty where nothing typed would help."""
    if isinstance(error, InputError | EngineError):
        return error.example or RIGHT_EXAMPLE
    return ""


def with_example(sentence: str, example: str, join: str = " ") -> str:
    """The sentence, and behind ``join`` the example where there is one."""
    return f"{sentence}{join}For example: {example}" if example else sentence


def _unreachable(error: UnreachableShotError, units: UnitSystem) -> str:
    def said(metres: float) -> str:
        return length(metres / METRES_PER_YARD, units, 0)

    club = f"The {error.club} ({error.grade})"
    far = max(error.needed_m, error.distance_m) > error.most_m
    if far:
        can = f"{club} can be set up for {said(error.most_m)} at most"
    else:
        can = f"{club} carries {said(error.least_m)} at least"
    # Only where the target itself is within the club's carries does the wind put it out of reach.
    out = error.distance_m > error.most_m if far else error.distance_m < error.least_m
    shot = f"the target is {said(error.distance_m)} away"
    if not out:
        shot = f"this shot plays {said(error.needed_m)}"
    if not error.reaching:
        wind = " in this wind" if error.windy and not out else ""
        return f"{can} and {shot}; no club of the kit reaches it{wind}."
    return f"{can} and {shot}; the {listed(error.reaching)} would reach."


def _target_height(error: TargetHeightError, units: UnitSystem) -> str:
    up = length(abs(error.height_m) / METRES_PER_YARD, units, 0)
    away = length(error.distance_m / METRES_PER_YARD, units, 0)
    high = error.height_m > 0
    target = (
        f"A target {up} {'up' if high else 'down'}, {away} away, is too {'high' if high else 'low'}"
    )
    others = f"the {listed(error.reaching)}" if error.reaching else "no club of the kit"
    would = "would reach" if error.reaching else "reaches it"
    return f"{target} for the {error.club} ({error.grade}); {others} {would}."


def headline(allowance: Allowance, *, mark: str) -> str:
    """What to do, in marks: 'Aim 5.1 marks right, 2.1 long'."""
    aim = offset(right=allowance.right_marks, long=allowance.long_marks, unit=f"{mark}s")
    return "Aim straight at the target" if aim == "none" else f"Aim {aim}"
