"""Ceilings in a sentence for the card, and as a table for a phone."""

from bot.services.caddie.adapt import AdaptedLine
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.ceilings import Ceiling
from engine.ceiling import MOST_MPS
from shared.errors import LeewardError
from shared.units import UNITS, UnitSystem, speed_number
from shared.wording import length

QUARTERS = ((12, "into"), (3, "off the right"), (6, "helping"), (9, "off the left"))


def ceiling_sentence(ceiling: Ceiling, units: UnitSystem) -> str:
    """'holds up to 17 mph into, 40 off the right, any helping, 41 off the left'."""
    if max(ceiling.speed_mps) < 0:
        return "can't be played even in a calm with the bag it was tested with"
    unit = UNITS[units].speed
    said: list[str] = []
    for hour, way in QUARTERS:
        speed = ceiling.at(hour)
        if speed >= MOST_MPS:
            said.append(f"any {way}")
        elif speed < 0:
            said.append(f"none {way}")
        else:
            first = "" if any(unit in each for each in said) else f" {unit}"
            said.append(f"{_number(speed, units)}{first} {way}")
    return f"holds up to {', '.join(said)}"


def ceiling_table(ceiling: Ceiling, units: UnitSystem) -> str:
    """One line an hour of the clock, as code of at most 30 columns."""
    unit = UNITS[units].speed
    rows = ["from          holds up to"]
    names = dict(QUARTERS)
    for hour in (12, *range(1, 12)):
        speed = ceiling.at(hour)
        value = f"{_number(speed, units)} {unit}"
        if speed >= MOST_MPS:
            value = "any wind"
        elif speed < 0:
            value = "not in a calm"
        rows.append(f"{hour:>2} {names.get(hour, ''):<14}{value:>10}"[:30])
    return "```\n" + "\n".join(rows) + "\n```"


def ceiling_margins(line: AdaptedLine, caddie: Caddie, units: UnitSystem) -> list[str]:
    """Of each shot in the wind it was tested in: its margin, and where that comes from.

    What is off in the allowance moves the ceiling as much.
    """
    said: list[str] = []
    for number, shot in enumerate(line.shots, start=1):
        mark_yd = caddie.mark_yd(shot.choice, carry_yd=shot.distance_yd)
        try:
            named = {"grade": shot.choice.grade, "ball": shot.choice.ball}
            margin = caddie.answer(shot=shot.shot.model_copy(update=named)).margin_yd
        except LeewardError:
            continue  # in the tested wind this bag can't hit it; the table says so
        size = f"± {length(margin, units)} ({margin / mark_yd:.1f} {caddie.kit.mark.name}s, 90%)"
        said.append(f"Shot {number}: allowance {size}, {caddie.source(shot.choice)}")
    return said


def _number(speed_mps: float, units: UnitSystem) -> str:
    return f"{speed_number(speed_mps, units):.0f}"
