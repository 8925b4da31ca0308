"""Forms with the longest names there may be: no label is cut, no example ends in the middle."""

from string import ascii_uppercase
from typing import Any

from bot.chat.forms import Form
from bot.commands.book.batch_cards import batch_form
from bot.commands.book.forms import dates_form, line_form, new_event_form, winds_form
from bot.commands.for_me.form import wind_form
from bot.commands.results.forms import fix_form, log_form
from bot.commands.share.form import decline_form, share_form
from bot.services.actions import AskForMe, AskShare, DecideShared, LogForm
from bot.services.book.cup_words import CupWords
from bot.services.book.drafts import LineDraft
from bot.services.book.event_service import WindForm
from bot.services.book_actions import WindsForm
from bot.services.for_me import Opening
from shared.book import Event, Hole
from tests.chat.limits import check_body

LONG = "The Long Division Of Many Words", "A Round On The Last Saturday"
EVENT = Event(
    name="A" * 60, divisions=(LONG[0],), rounds=(LONG[1],), holes=(Hole(number=18, par=4, yards=9),)
)
VARIANTS = (*ascii_uppercase, *(f"S{number}" for number in range(1, 60, 7)))
ROW = f"18, {LONG[0]}, recommended, left of the wall | 10 mph from 11 | driver 226 aim 5 left"
DRAFT = LineDraft(token="a" * 12, event=EVENT.name, hole=18, author="a", title="t", wind="")


def forms() -> dict[str, Form]:
    return {
        "a new event": new_event_form(CupWords()),
        "winds": winds_form(WindForm(EVENT.name, *LONG, "", WindsForm(24, 24, EVENT.name))),
        "dates": dates_form(EVENT, ""),
        "a line": line_form(DRAFT, divisions=EVENT.divisions, example=f"{ROW} | {ROW}"),
        "lines": batch_form(EVENT.name, example=f"{ROW} | 4-iron 163"),
        "a miss": log_form(
            LogForm("miss", 18, "", 999, EVENT.name),
            first="S99",
            variants=VARIANTS,
            wind="",
            units="metres km/h",
        ),
        "a past miss": log_form(
            LogForm("miss", 18, "S99", 99, EVENT.name),
            first="S99",
            variants=(),
            wind="",
            units="yards knots",
            past=True,
        ),
        "a correction": fix_form(
            result_id=1, of="Hole 18, line S99", outcome="in", wind="", units="metric"
        ),
        "for me": wind_form(
            AskForMe(18, EVENT.name), Opening("8 mph from 2", "S99", VARIANTS, "8.4 mph from 2")
        ),
        "a share": share_form(AskShare(18, "S99", None, EVENT.name)),
        "a decline": decline_form(DecideShared("no", 18, "S99", EVENT.name)),
    }


async def test_no_label_is_cut_and_no_example_ends_in_the_middle() -> None:
    for name, form in forms().items():
        body: dict[str, Any] = {"type": 9, "data": form.to_dict()}
        assert check_body("POST", "/interactions/1/token/callback", body) == [], name


async def test_an_example_that_is_too_long_ends_where_a_part_ends() -> None:
    data: Any = forms()["lines"].to_dict()
    hint = data["components"][0]["component"]["placeholder"]
    assert hint == ROW.rpartition(" | ")[0] and len(hint) <= 100


async def test_the_lines_of_a_hole_stand_under_a_label_they_do_not_fit_in() -> None:
    data: Any = forms()["a miss"].to_dict()
    (label,) = [each for each in data["components"] if each["component"]["custom_id"] == "line"]
    assert label["label"] == "Line"
    assert label["description"] == "A to Z, S1, S8, S15, S22, S29, S36, S43, S50, S57"
