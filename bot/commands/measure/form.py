"""The form of one measured shot."""

from bot.chat.forms import Form
from bot.services.actions import MeasureForm
from bot.services.measure.series import Standing
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import length, offset, wind_words


def shot_form(found: Standing, *, units: UnitSystem, mark: str) -> Form:
    """Wind and carry, the aim, where it came down; the first two are proposed."""
    club, best = found.series.club, found.proposals[0]
    carry = length(best.carry_m / METRES_PER_YARD, units, 0)
    aim = offset(right=best.right_marks, long=best.long_marks, unit=f"{mark}s")
    form = Form(f"A shot with the {club}", MeasureForm(club))
    form.ask(
        "shot",
        value=f"{wind_words(best.wind, units)}, {carry}",
        most=100,
        required=True,
    )
    aimed = "straight" if aim == "none" else aim
    form.ask("aim", value=aimed, most=60, required=True)
    form.ask("landed", hint="5 short, 3 right", most=60, required=True)
    return form
