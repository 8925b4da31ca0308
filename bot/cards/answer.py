"""An answer as lines: the same words for the embed, the terminal and the suggestion."""

from dataclasses import dataclass

from bot.words import length, offset, offset_in
from shared.answer import Answer
from shared.units import UnitSystem

FOR_WHOM = (
    "For video and simulator golf. In a round under the Rules of Golf (4.3a) a device may not "
    "recommend a line or a club."
)
LONGEST_SUGGESTION = 100


@dataclass(frozen=True)
class AnswerLines:
    """``headline`` says what to do; ``rows`` are label and text; ``footer`` says for whom."""

    headline: str
    aim: str
    rows: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    footer: str = FOR_WHOM


def answer_lines(answer: Answer, *, units: UnitSystem, mark: str) -> AnswerLines:
    """The lines of an answer in the reader's units; ``mark`` is the kit's name for a mark."""
    return AnswerLines(
        headline=headline(answer, mark=mark),
        aim=_aim(answer, units),
        rows=(
            ("Plays", _plays(answer, units)),
            ("Drift", _drift(answer, units)),
            ("1 mph more", _change(answer.if_wind.per_mph.model_dump(), units)),
            ("10° clockwise", _change(answer.if_wind.per_10_deg.model_dump(), units)),
            ("Margin", _margin(answer, units)),
        ),
        notes=answer.notes,
    )


def headline(answer: Answer, *, mark: str) -> str:
    """What to do, in marks: 'Aim 5.1 marks right, 2.1 long'."""
    aim = offset(
        right=answer.allowance.right_marks, long=answer.allowance.long_marks, unit=f"{mark}s"
    )
    return "Aim straight at the target" if aim == "none" else f"Aim {aim}"


def suggestion(answer: Answer, *, units: UnitSystem, mark: str) -> str:
    """The whole answer in one line of at most 100 characters."""
    plays = length(answer.plays_yd, units, 0)
    line = f"{headline(answer, mark=mark)} · plays {plays} · {answer.club} ({answer.grade})"
    return line if len(line) <= LONGEST_SUGGESTION else line[: LONGEST_SUGGESTION - 1] + "…"


def _aim(answer: Answer, units: UnitSystem) -> str:
    allowance = answer.allowance
    aim = offset_in(units, right_yd=allowance.right_yd, long_yd=allowance.long_yd)
    shot = f"{answer.club} ({answer.grade}), {answer.ball} ball"
    return shot if aim == "none" else f"{aim} · {shot}"


def _plays(answer: Answer, units: UnitSystem) -> str:
    setup = answer.setup_yd
    from_full = "full carry" if abs(setup) < 0.5 else f"full {_signed(setup, units)}"
    plays, distance = length(answer.plays_yd, units, 0), length(answer.distance_yd, units, 0)
    return f"{plays} for {distance}: set up {from_full} (share {answer.share:.0%})"


def _signed(yards: float, units: UnitSystem) -> str:
    return ("+" if yards > 0 else "−") + length(abs(yards), units, 0)


def _drift(answer: Answer, units: UnitSystem) -> str:
    flight = answer.flight
    if flight is None:
        return "not flown: the chart answers beyond what the flight can"
    drift = offset_in(units, right_yd=flight.drift_right_yd, long_yd=flight.drift_long_yd)
    apex = length(flight.apex_yd, units, 0)
    return f"{drift}; {flight.time_s:.1f} s up, apex {apex}, lands at {flight.landing_deg:.0f}°"


def _change(change: dict[str, float], units: UnitSystem) -> str:
    words = offset_in(units, right_yd=change["right_yd"], long_yd=change["long_yd"])
    return "no change" if words == "none" else words


def _margin(answer: Answer, units: UnitSystem) -> str:
    margin = answer.margin
    across, along = length(margin.right_yd, units), length(margin.long_yd, units)
    return f"± {across} across, ± {along} along ({margin.source})"
