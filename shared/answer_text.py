"""An answer as lines: the same words for the embed, the terminal and the suggestion."""

from dataclasses import dataclass

from shared.answer import Allowance, Answer, GroundFacts, Offset
from shared.quantities import Wind
from shared.shot import Shot
from shared.shot_text import format_shot
from shared.shot_text.write import in_units
from shared.units import MPS_PER, MPS_PER_MPH, UNITS, UnitSystem
from shared.wording import SMALL, aim_words, from_full, length, offset, offset_in, wind_words

FOR_WHOM = (
    "For video and simulator golf. In a round under the Rules of Golf (4.3a) a device may not "
    "recommend a line or a club."
)
FOR_WHOM_ROW = "For video golf; see Rules of Golf 4.3a"  # under an answer; in help it stands whole
LONGEST_SUGGESTION = 99
NEARLY_FULL = 0.95  # of a full swing; below it a golfer thinks of the share


@dataclass(frozen=True)
class AnswerLines:
    """``headline`` says what to do, ``inside`` in which wind and how surely, ``ground`` what the
    ball does once it is down (empty without a ground), ``more`` what comes to mind next,
    ``source`` where the numbers come from; ``asked`` is the shot whole, ``rows`` (label and text)
    why.
    """

    headline: str
    inside: str
    ground: str
    more: str
    source: str
    asked: str
    rows: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    footer: str = FOR_WHOM_ROW


def answer_lines(answer: Answer, *, units: UnitSystem, mark: str) -> AnswerLines:
    """The lines of an answer in the reader's units; ``mark`` is the kit's name for a mark."""
    wind = answer.shot.wind
    ground = ground_row(answer.ground, units=units) if answer.ground else ""
    return AnswerLines(
        headline=headline(answer, units=units, mark=mark),
        inside=inside_row(
            wind=wind,
            distance_yd=answer.distance_yd,
            shot=answer.shot,
            margin=answer.margin,
            units=units,
        ),
        ground=ground,
        more=_more(answer, units, mark),
        source=_source(answer),
        asked=_asked(answer),
        rows=(
            ("Plays", _plays(answer, units)),
            *([("Ground", ground)] if ground else []),
            ("Drift", _drift(answer, units)),
            (f"1 {UNITS[units].speed} more", _per_speed(answer, units, mark)),
            ("10° clockwise", _change(answer, answer.if_wind.per_10_deg, units, mark)),
            ("Margin", _margin(answer, units, mark)),
        ),
        notes=answer.notes,
    )


def headline(answer: Answer, *, units: UnitSystem, mark: str) -> str:
    """What to do: '5-iron · set up 170 yd (full +5) · aim 5.9 marks right, 3.0 long'."""
    return do_row(
        club=answer.club,
        shot=answer.shot,
        plays_yd=answer.plays_yd,
        setup_yd=answer.setup_yd,
        swing_share=answer.swing_share,
        allowance=answer.allowance,
        units=units,
        mark=mark,
    )


def do_row(
    *,
    club: str,
    shot: Shot,
    plays_yd: float,
    setup_yd: float,
    swing_share: float,
    allowance: Allowance,
    units: UnitSystem,
    mark: str,
) -> str:
    """What to do for one shot: club with its spin and shape, set-up, aim in marks."""
    bent = format_shot(Shot(backspin=shot.backspin, sidespin=shot.sidespin, curve=shot.curve))
    setup = from_full(setup_yd, units, bare=True)
    if swing_share < NEARLY_FULL:
        setup += f", {swing_share:.0%}"
    aim = offset(right=allowance.right_marks, long=allowance.long_marks, unit=f"{mark}s")
    return " · ".join(
        part
        for part in (
            club,
            bent,
            f"set up {length(plays_yd, units, 0)} ({setup})",
            "aim straight" if aim == "none" else f"aim {aim}",
        )
        if part
    )


def inside_row(
    *, wind: Wind | None, distance_yd: float, shot: Shot, margin: Allowance, units: UnitSystem
) -> str:
    """In what it is played: '8.4 mph from 2 · 165 yd, up 5 yd · ± 1.4 across, 0.7 along (90%)'.

    The margin is in marks, as what it is the margin of.
    """
    away = length(distance_yd, units, 0)
    if shot.height is not None:
        height = in_units(Shot(height=shot.height), units).height
        assert height is not None
        near = height.model_copy(update={"value": round(height.value, 1)})
        away += f", {format_shot(Shot(height=near))}"
    if shot.onto is not None:
        away += f", {format_shot(Shot(onto=shot.onto))}"
    sure = f"± {margin.right_marks:.1f} across, {margin.long_marks:.1f} along (90%)"
    blows = (wind_words(wind, units),) if wind is not None else ()
    return " · ".join((*blows, away, sure))


def ground_row(ground: GroundFacts, *, units: UnitSystem) -> str:
    """What the ball does: 'comes down 13.3 yd short of the target: carry 147, run 13.3 (first
    bounce 2.3, roll 8.8), total 160 yd'.
    """
    place = offset_in(units, right_yd=ground.comes_down.right_yd, long_yd=ground.comes_down.long_yd)
    where = "at the target" if place == "none" else f"{place} of the target"

    def bare(yards: float, digits: int = 1) -> str:
        return length(yards, units, digits).split()[0]

    return (
        f"comes down {where}: carry {bare(ground.carry_yd, 0)}, run {bare(ground.run_yd)} "
        f"(first bounce {bare(ground.first_bounce_yd)}, roll {bare(ground.roll_yd)}), "
        f"total {length(ground.total_yd, units, 0)}"
    )


def _more(answer: Answer, units: UnitSystem, mark: str) -> str:
    """The aim in the reader's unit, what more wind would change, and what the bag filled in."""
    said = offset_in(units, right_yd=answer.allowance.right_yd, long_yd=answer.allowance.long_yd)
    parts = [] if said == "none" else [said]
    change = _in_marks(answer, _per_unit(answer, units))
    more = offset(right=change.right_marks, long=change.long_marks, unit=f"{mark}s")
    parts.append(f"1 {UNITS[units].speed} more {'no change' if more == 'none' else more}")
    if filled := _filled(answer):
        parts.append(filled)
    return " · ".join(parts)


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
    filled = _filled(answer)
    return f"{answer.text} ({filled})" if filled else answer.text


def _filled(answer: Answer) -> str:
    unsaid: list[str] = []
    if answer.grade != answer.shot.grade:
        unsaid.append(answer.grade)
    if answer.ball != answer.shot.ball:
        unsaid.append(f"{answer.ball} ball")
    return ", ".join(unsaid)


def _plays(answer: Answer, units: UnitSystem) -> str:
    setup = from_full(answer.setup_yd, units, level="full carry")
    carried = answer.ground.carry_yd if answer.ground else answer.distance_yd
    plays, distance = length(answer.plays_yd, units, 0), length(carried, units, 0)
    return f"{plays} for {distance}: set up {setup} (share {answer.swing_share:.0%})"


def _drift(answer: Answer, units: UnitSystem) -> str:
    flight = answer.flight
    if flight is None:
        return "not flown: the chart answers beyond what the flight can"
    drift = offset_in(units, right_yd=flight.drift_right_yd, long_yd=flight.drift_long_yd)
    apex = length(flight.apex_yd, units, 0)
    return f"{drift}; {flight.time_s:.1f} s up, apex {apex}, lands at {flight.landing_deg:.0f}°"


def _per_unit(answer: Answer, units: UnitSystem) -> Offset:
    """What one unit of the reader's speed more would change."""
    change = answer.if_wind.per_mph
    scale = MPS_PER[UNITS[units].speed] / MPS_PER_MPH
    return Offset(right_yd=change.right_yd * scale, long_yd=change.long_yd * scale)


def _per_speed(answer: Answer, units: UnitSystem, mark: str) -> str:
    turns = "; more help takes no more off here" if answer.help_turns else ""
    return f"{_change(answer, _per_unit(answer, units), units, mark)}{turns}"


def _change(answer: Answer, change: Offset, units: UnitSystem, mark: str) -> str:
    words = aim_words(_in_marks(answer, change), units=units, mark=mark)
    return "no change" if words == "none" else words


def _in_marks(answer: Answer, change: Offset) -> Allowance:
    return Allowance(
        right_yd=change.right_yd,
        long_yd=change.long_yd,
        right_marks=change.right_yd / answer.mark_yd,
        long_marks=change.long_yd / answer.mark_yd,
    )


def _source(answer: Answer) -> str:
    """Where the numbers come from, and what the margin leaves out."""
    return (
        f"{answer.margin.source}; the ground's own aside" if answer.ground else answer.margin.source
    )


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
    return f"{', '.join(parts) or 'next to nothing'} (90%); {_source(answer)}"
