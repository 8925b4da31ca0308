"""The form that shares a line as its member plays it."""

from bot.chat.forms import Form
from bot.services.actions import AskShare, DecideShared, DeclineForm, ShareForm
from shared.miss_text import MISS_EXAMPLE

MOST_REMARK = 300


def share_form(asked: AskShare) -> Form:
    """How it went, and what others should know."""
    action = ShareForm(asked.hole, asked.variant, asked.wind, asked.event)
    form = Form(f"Share hole {asked.hole}, line {asked.variant}", action)
    form.ask_outcome(value="in", hint=MISS_EXAMPLE)
    form.ask("remark", most=MOST_REMARK)
    return form


def decline_form(asked: DecideShared) -> Form:
    """Why a share is not posted; its author is told."""
    action = DeclineForm(asked.hole, asked.variant, asked.event)
    form = Form(f"Decline hole {asked.hole}, line {asked.variant}", action)
    about = "its author is told; left empty, they are told of the decision alone"
    form.ask("why", about=about, most=MOST_REMARK)
    return form
