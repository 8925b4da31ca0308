"""The forms in which a coach writes a line or the winds of a round, and a draft's buttons."""

from collections.abc import Mapping

from bot.chat.forms import Form
from bot.services.actions import ButtonFields
from bot.services.book.cup_words import CupWords, next_name
from bot.services.book.dates import DATE_EXAMPLE
from bot.services.book.drafts import LineDraft
from bot.services.book.event_service import WindForm
from bot.services.book.hole_rows import hole_example
from bot.services.book_actions import DatesForm, DecideDraft, DraftForm, NewEventForm, WindsForm
from shared import limits
from shared.book import Event, Status

MOST_NOTES, MOST_WIND = 600, 200
MOST_TYPED = 3500  # read back with its units written out it is longer, and has to fit a form again
STATUSES: dict[Status, str] = {
    "idea": "nobody has tried it yet",
    "tested": "it went in",
    "recommended": "the one to play",
    "retired": "not shown to members any more",
}
LABELS = {"save": "Save", "over": "Save mine over it", "change": "Change", "drop": "Give up"}
STYLES = {"save": "success", "over": "danger"}


def draft_button(act: str, token: str) -> ButtonFields:
    """A button under a line that is being written."""
    return DecideDraft(act, token).button(LABELS[act], STYLES.get(act, "secondary"))


def line_form(draft: LineDraft, *, divisions: tuple[str, ...], example: str) -> Form:
    """A line: its wind, a shot a row, notes, status, divisions; ``example`` is a right row."""
    name = "new line" if draft.variant is None else f"line {draft.variant}"
    form = Form(f"Hole {draft.hole}, {name}", DraftForm(draft.token))
    form.ask(
        "wind",
        about="an hour, or into, helping, off the left",
        value=draft.wind,
        hint="8 from 2",
        most=MOST_WIND,
        required=True,
    )
    form.ask(
        "rows",
        about="shot text, then what you know of: aim, room, leaves, note",
        value=draft.rows,
        hint=example,
        most=limits.FORM_TEXT if len(draft.rows) > MOST_TYPED else MOST_TYPED,
        required=True,
    )
    form.ask("notes", value=draft.notes, most=MOST_NOTES)
    statuses = [(status, said, status == draft.status) for status, said in STATUSES.items()]
    form.choose("status", "Status", statuses)
    form.choose(
        "divisions",
        "For which divisions",
        [(division, "", division in draft.divisions) for division in divisions],
        about="none chosen is all of them",
        several=True,
        hint="all divisions",
    )
    return form


def draft_typed(
    draft: LineDraft, fields: Mapping[str, str], chosen: Mapping[str, tuple[str, ...]]
) -> LineDraft:
    """The draft as it is typed now."""
    status = chosen.get("status", ())
    update = {
        "wind": fields.get("wind", ""),
        "rows": fields.get("rows", ""),
        "notes": fields.get("notes", ""),
        "status": status[0] if status else draft.status,
        "divisions": chosen.get("divisions", ()),
    }
    return draft.model_copy(update=update)


def winds_form(form: WindForm) -> Form:
    """The winds of a division and a round, one hole a row."""
    asked = Form("Winds, one hole a row", form.action)
    whose = f"{form.division}, {form.round}"
    fits = len(f"{WindsForm.labels['rows']}: {whose}") <= limits.LABEL
    asked.ask(
        "rows",
        more=f": {whose}" if fits else ", one hole a row",
        about="a hole without a wind: not known; a hole left out stays as it is" if fits else whose,
        value=form.rows,
        hint="1: 8 from 2",
        most=limits.FORM_TEXT,
        required=True,
    )
    return asked


def new_event_form(words: CupWords) -> Form:
    """A new event: its name, divisions, rounds, and a hole a row; hints name ``words``."""
    form = Form("A new cup", NewEventForm())
    form.ask("name", hint=next_name(words.event), most=60, required=True)
    form.ask(
        "divisions",
        about="parted by commas",
        hint=", ".join(words.divisions),
        most=800,
        required=True,
    )
    form.ask(
        "rounds",
        about="parted by commas",
        hint=", ".join(words.rounds),
        most=800,
        required=True,
    )
    form.ask(
        "holes",
        about="number, par, length; then other tees, bearing, name. Played before: number, name",
        hint=hole_example(words.divisions),
        most=limits.FORM_TEXT,
        required=True,
    )
    units = [("yards", "yards and mph", True), ("metric", "metres and m/s", False)]
    form.choose("units", "Units of what is published", units)
    return form


def dates_form(event: Event, rows: str) -> Form:
    """When the rounds of an event begin, one a row."""
    form = Form("When rounds begin", DatesForm(event.name))
    form.ask(
        "rows",
        about="date and time in UTC, or with +01:00; a row without: not known",
        value=rows,
        hint=f"{event.rounds[0]}: {DATE_EXAMPLE}",
        most=limits.FORM_TEXT,
        required=True,
    )
    return form
