"""The form that shares a line as its member plays it."""

from bot.chat.forms import Form
from bot.services.actions import AskShare, ShareForm
from bot.services.results.outcome import EXAMPLE, SEVERAL_EXAMPLE

MOST_OUTCOME, MOST_REMARK = 60, 300


def share_form(asked: AskShare) -> Form:
    """How it went, and what others should know."""
    custom_id = ShareForm(asked.hole, asked.variant, asked.wind, asked.event).id
    form = Form(f"Share hole {asked.hole}, line {asked.variant}", custom_id)
    label, about = "In, or how far it missed", f"or of several: {SEVERAL_EXAMPLE}"
    form.ask("outcome", label, about=about, value="in", hint=EXAMPLE, most=MOST_OUTCOME)
    form.ask("remark", "What others should know", most=MOST_REMARK, long=True)
    return form
