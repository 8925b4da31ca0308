"""The forms that log and correct results."""

from bot.chat.forms import Form
from bot.services.actions import IN, FixForm, LogForm
from shared.shot_text.write import example_wind_text
from shared.units import UnitSystem

MOST_WIND = 80
IF_KNOWN = ", if you know"


def log_form(
    asked: LogForm,
    *,
    first: str,
    variants: tuple[str, ...],
    wind: str,
    units: UnitSystem,
    past: bool = False,
) -> Form:
    """At most three answers: which line where that is open, how far it missed, the wind.

    Of a ``past`` cup it asks whether that is meant: its notes stand on, and a thumb slips.
    """
    how = "went in" if asked.act == IN else "missed"
    title = f"Not the current cup: hole {asked.hole} {how}?"
    form = Form(title if past else f"Hole {asked.hole}: it {how}", asked)
    if not asked.variant:
        form.ask_line(variants, first=first)
    if asked.act != IN:
        form.ask_outcome(more=IF_KNOWN)
    _ask_wind(form, wind, units)
    return form


def fix_form(*, result_id: int, of: str, outcome: str, wind: str, units: UnitSystem) -> Form:
    """What a result should say instead."""
    form = Form(f"{of}: correct it", FixForm(result_id))
    form.ask_outcome(value=outcome)
    _ask_wind(form, wind, units)
    return form


def _ask_wind(form: Form, wind: str, units: UnitSystem) -> None:
    more = "" if wind else IF_KNOWN
    form.ask("wind", more=more, value=wind, hint=example_wind_text(units), most=MOST_WIND)
