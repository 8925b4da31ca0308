"""What looks wrong in a line before it is kept: said to its author, never refused. No Discord."""

from collections.abc import Sequence

from bot.services.book.reading import LineReading, ShotReading
from shared.book import Hole, Line

NEXT_WITHIN_YD = 25.0  # of what the shot before leaves: the ball may lie off the line
SHORTEST, LONGEST = 0.6, 1.35  # of a hole's length that its shots may carry in all
LEAST_MARKS = 1.0  # an aim nearer than this to straight says no side


def line_doubts(reading: LineReading, hole: Hole, others: Sequence[Line]) -> list[str]:
    """Sentences on a line of a hole, beside its other lines."""
    line, shots = reading.line, reading.shots
    said = [text for place, shot in enumerate(shots, 1) for text in _of_shot(place, shot)]
    carries = [shot.answer.distance_yd for shot in shots if shot.answer is not None]
    if len(carries) == len(shots):
        said += _leaves(line, carries)
        whole = sum(carries)
        lengths = sorted({hole.from_tee(each).yards for each in line.divisions or (None,)})
        if not SHORTEST * lengths[0] <= whole <= LONGEST * lengths[-1]:
            its = " to ".join(f"{yards:.0f}" for yards in dict.fromkeys((lengths[0], lengths[-1])))
            said.append(f"The shots carry {whole:.0f} yd of the hole's {its}.")
    said += [
        f"Line {other.variant} says the same."
        for other in others
        if (other.wind, other.shots) == (line.wind, line.shots)
        and not other.retired
        and not line.copied
    ]
    return said + _recommended(line, others)


def _of_shot(place: int, shot: ShotReading) -> list[str]:
    if shot.answer is None:
        return [f"Shot {place}: {shot.trouble}"]
    worked, computed = shot.shot.worked, shot.answer.allowance
    if worked is None:
        return []
    right = computed.right_marks if worked.unit == "marks" else computed.right_yd
    if min(abs(right), abs(worked.right)) >= LEAST_MARKS and right * worked.right < 0:
        noted, other = ("right", "left") if worked.right > 0 else ("left", "right")
        return [f"Shot {place} aims {noted}, with the wind; {other} is computed."]
    return []


def _leaves(line: Line, carries: Sequence[float]) -> list[str]:
    said: list[str] = []
    for place, (shot, after) in enumerate(zip(line.shots, carries[1:], strict=False), start=1):
        if shot.leaves_yd is None:
            continue
        least, most = shot.leaves_yd
        if not least - NEXT_WITHIN_YD <= after <= most + NEXT_WITHIN_YD:
            left = f"{least:g}" if least == most else f"{least:g} to {most:g}"
            said.append(f"Shot {place} leaves {left} yd, but shot {place + 1} carries {after:.0f}.")
    return said


def _recommended(line: Line, others: Sequence[Line]) -> list[str]:
    if line.status != "recommended":
        return []
    return [
        f"Line {other.variant} is recommended for {_whose(line, other)} too."
        for other in others
        if other.status == "recommended" and _meet(line, other)
    ]


def _meet(one: Line, other: Line) -> bool:
    return not one.divisions or not other.divisions or bool({*one.divisions} & {*other.divisions})


def _whose(one: Line, other: Line) -> str:
    both = [name for name in one.divisions or other.divisions if other.is_for(name)]
    return ", ".join(both) or "all divisions"
