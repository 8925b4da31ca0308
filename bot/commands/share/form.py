"""The form that shares a line as its member plays it."""

from bot.chat.forms import Form
from bot.services.actions import AskShare, DecideShared, DeclineForm, ShareForm
from shared.miss_text import MISS_EXAMPLE

MOST_REMARK = 300


def share_form(asked: AskShare) -> Form:
    """How it went, and what others should know."""
    custom_id = ShareForm(asked.hole, asked.variant, asked.wind, asked.event).id
    form = Form(f"Share hole {asked.hole}, line {asked.variant}", custom_id)
    form.ask_outcome("In, or how far it missed", value="in", hint=MISS_EXAMPLE)
    form.ask("remark", "What others should know", most=MOST_REMARK, long=True)
    return form


def decline_form(asked: DecideShared) -> Form:
    """Why a share is not posted; its author is told."""
    custom_id = DeclineForm(asked.hole, asked.variant, asked.event).id
    form = Form(f"Decline hole {asked.hole}, line {asked.variant}", custom_id)
    about = "its author is told; left empty, they are told of the decision alone"
    form.ask("why", "Why", about=about, most=MOST_REMARK, long=True)
    return form
