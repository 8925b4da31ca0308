"""An answer as lines: the same words for the embed, the terminal and the suggestion."""

from dataclasses import dataclass

from shared.answer import Answer, Offset
from shared.units import MPS_PER, MPS_PER_MPH, UNITS, UnitSystem
from shared.wording import SMALL, aim_words, from_full, length, offset, offset_in

FOR_WHOM = (
    "For video and simulator golf. In a round under the Rules of Golf (4.3a) a device may not "
    "recommend a line or a club."
)
LONGEST_SUGGESTION = 99


@dataclass(frozen=True)
class AnswerLines:
    """``headline`` says what to do, ``asked`` for which shot; ``rows`` are label and text."""

    headline: str
    asked: str
    rows: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    footer: str = FOR_WHOM


def answer_lines(answer: Answer, *, units: UnitSystem, mark: str) -> AnswerLines:
    """The lines of an answer in the reader's units; ``mark`` is the kit's name for a mark."""
    return AnswerLines(
        headline=headline(answer, units=units, mark=mark),
        asked=_asked(answer),
        rows=(
            ("Plays", _plays(answer, units)),
            ("Drift", _drift(answer, units)),
            (f"1 {UNITS[units].speed} more", _per_speed(answer, units)),
            ("10° clockwise", _change(answer.if_wind.per_10_deg, units)),
            ("Margin", _margin(answer, units, mark)),
        ),
        notes=answer.notes,
    )


def headline(answer: Answer, *, units: UnitSystem, mark: str) -> str:
    """What to do, in marks and yards: 'Aim 5.1 marks (8.2 yd) right, 2.1 (3.4 yd) long'."""
    aim = aim_words(answer.allowance, units=units, mark=mark)
    return "Aim straight at the target" if aim == "none" else f"Aim {aim}"


def suggestion(answer: Answer, *, units: UnitSystem, mark: str) -> str:
    """The whole answer in one line of fewer than 100 characters."""
    plays = length(answer.plays_yd, units, 0)
    allowance = answer.allowance
    aim = offset(right=allowance.right_marks, long=allowance.long_marks, unit=f"{mark}s")
    aimed = "straight" if aim == "none" else aim
    line = f"Aim {aimed} · plays {plays} · {answer.club} ({answer.grade})"
    return line if len(line) <= LONGEST_SUGGESTION else line[: LONGEST_SUGGESTION - 1] + "…"


def _asked(answer: Answer) -> str:
    """The shot, with the grade and the ball that the bag or the kit filled in."""
    unsaid: list[str] = []
    if answer.grade != answer.shot.grade:
        unsaid.append(answer.grade)
    if answer.ball != answer.shot.ball:
        unsaid.append(f"{answer.ball} ball")
    return f"{answer.text} ({', '.join(unsaid)})" if unsaid else answer.text


def _plays(answer: Answer, units: UnitSystem) -> str:
    setup = from_full(answer.setup_yd, units, level="full carry")
    plays, distance = length(answer.plays_yd, units, 0), length(answer.distance_yd, units, 0)
    return f"{plays} for {distance}: set up {setup} (share {answer.swing_share:.0%})"


def _drift(answer: Answer, units: UnitSystem) -> str:
    flight = answer.flight
    if flight is None:
        return "not flown: the chart answers beyond what the flight can"
    drift = offset_in(units, right_yd=flight.drift_right_yd, long_yd=flight.drift_long_yd)
    apex = length(flight.apex_yd, units, 0)
    return f"{drift}; {flight.time_s:.1f} s up, apex {apex}, lands at {flight.landing_deg:.0f}°"


def _per_speed(answer: Answer, units: UnitSystem) -> str:
    change = answer.if_wind.per_mph
    scale = MPS_PER[UNITS[units].speed] / MPS_PER_MPH
    more = Offset(right_yd=change.right_yd * scale, long_yd=change.long_yd * scale)
    turns = "; more help takes no more off here" if answer.help_turns else ""
    return f"{_change(more, units)}{turns}"


def _change(change: Offset, units: UnitSystem) -> str:
    words = offset_in(units, right_yd=change.right_yd, long_yd=change.long_yd)
    return "no change" if words == "none" else words


def _margin(answer: Answer, units: UnitSystem, mark: str) -> str:
    margin = answer.margin
    parts: list[str] = []
    for yards, marks, way in (
        (margin.right_yd, margin.right_marks, "across"),
        (margin.long_yd, margin.long_marks, "along"),
    ):
        if marks >= SMALL:
            named = f" {mark}s" if not parts else ""
            parts.append(f"± {length(yards, units)} ({marks:.1f}{named}) {way}")
    return f"{', '.join(parts) or 'next to nothing'} (90%); {margin.source}"
