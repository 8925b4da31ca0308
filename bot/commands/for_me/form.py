"""The form that asks for a member's own wind."""

from bot.chat.forms import Form
from bot.services.actions import AskForMe, ForMeForm
from bot.services.for_me import Opening

LONGEST_WIND = 80


def wind_form(asked: AskForMe, opening: Opening) -> Form:
    """One short form: the wind you have, and the line where there are several; both prefilled."""
    several = len(opening.variants) > 1
    only = "" if several else opening.variant
    form = Form(f"Hole {asked.hole} for me", ForMeForm(asked.hole, only, asked.event))
    form.ask(
        "wind",
        value=opening.wind,
        hint=opening.example,
        most=LONGEST_WIND,
        required=True,
    )
    if several:
        form.ask_line(opening.variants, first=opening.variant)
    return form
