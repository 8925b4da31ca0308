"""The forms that log and correct results."""

from bot.chat.forms import Form
from bot.services.actions import IN, FixForm, LogForm
from bot.services.results.outcome import EXAMPLE, SEVERAL_EXAMPLE

MOST_WIND, MOST_OUTCOME = 80, 60
HINT = f"{EXAMPLE}; or: a bit left; or nothing"


def log_form(
    asked: LogForm, *, first: str, variants: tuple[str, ...], wind: str, past: bool = False
) -> Form:
    """At most three answers: which line where that is open, how far it missed, the wind.

    Of a ``past`` cup it asks whether that is meant: its notes stand on, and a thumb slips.
    """
    how = "went in" if asked.act == IN else "missed"
    title = f"Not the current cup: hole {asked.hole} {how}?"
    form = Form(title if past else f"Hole {asked.hole}: it {how}", asked.id)
    if not asked.variant:
        form.ask_line(variants, first=first)
    if asked.act != IN:
        ask_outcome(form, "How far it missed, if you know")
    _ask_wind(form, wind)
    return form


def fix_form(*, result_id: int, hole: int, variant: str, outcome: str, wind: str) -> Form:
    """What a result should say instead."""
    form = Form(f"Hole {hole}, line {variant}: correct it", FixForm(result_id).id)
    ask_outcome(form, "In, or how far it missed", outcome)
    _ask_wind(form, wind)
    return form


def ask_outcome(form: Form, label: str, value: str = "") -> None:
    """How a try went, or several."""
    about = f"or of several: {SEVERAL_EXAMPLE}"
    form.ask("outcome", label, about=about, value=value, hint=HINT, most=MOST_OUTCOME)


def _ask_wind(form: Form, wind: str) -> None:
    label = "Wind as played" if wind else "Wind as played, if you know"
    form.ask("wind", label, value=wind, hint="8.4 mph from 2", most=MOST_WIND)
