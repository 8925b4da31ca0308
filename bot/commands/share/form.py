"""The form that shares a line as its member plays it."""

from bot.chat.forms import Form
from bot.services.actions import AskShare, DecideShared, DeclineForm, ShareForm
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


def decline_form(asked: DecideShared) -> Form:
    """Why a share is not posted; its author is told."""
    custom_id = DeclineForm(asked.hole, asked.variant, asked.event).id
    form = Form(f"Decline hole {asked.hole}, line {asked.variant}", custom_id)
    about = "its author is told; left empty, they are told of the decision alone"
    form.ask("why", "Why", about=about, most=MOST_REMARK, long=True)
    return form
