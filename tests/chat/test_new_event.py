"""A cup made in the chat: typed in one form, a draft until it is used, changed hole by hole."""

from datetime import timedelta

import pytest

from tests.chat.asking import card, refused, text
from tests.chat.booking import (
    CUP,
    as_it_is,
    fields_of,
    fill,
    labels_of,
    load_cup,
    only_embed,
    only_message,
)
from tests.chat.conftest import Stage

HOLES = "1 par 4, 372, bearing 20, Old Slipway\n\nhole 3: par 5 470 m\n11 par 3, 158 yd, Gull Rest"
FACTS = {"name": "Harbour Cup", "divisions": "Sail, Oar; Punt", "rounds": "Saturday, Sunday"}


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    return stage


async def test_a_cup_of_any_holes_is_typed_in_one_form_and_stays_a_draft(cup: Stage) -> None:
    opened = await cup.coach.slash(cup.questions, "event new")
    assert sorted(fields_of(opened.modal)) == ["divisions", "holes", "name", "rounds", "units"]
    embed = only_embed(await fill(cup, cup.coach, opened, **FACTS, holes=HOLES))
    assert embed.title == "Harbour Cup is in the book"
    assert text(embed.description).split("\n") == [
        "A new event: 3 holes, 0 lines.",
        "It is a draft: nothing members see has moved. /event use event:Harbour Cup",
        "It has no winds yet: set them with /event winds.",
    ]
    assert (await card(cup, cup.tamsin, "cup show")).title == "Windlass Cup"
    await card(cup, cup.coach, "event use", event="harbour cup")
    shown = await card(cup, cup.tamsin, "cup show")
    rows = text(shown.description).split("\n")
    assert rows[0] == "Divisions: Sail, Oar, Punt"
    assert [row for row in rows if row.startswith("**")] == [
        "**1** Old Slipway · par 4 · 372 yd · no line",
        "**3** · par 5 · 514 yd · no line",
        "**11** Gull Rest · par 3 · 158 yd · no line",
    ]
    said = await refused(cup, cup.tamsin, "hole", hole=2)
    assert "The event has holes 1, 3, 11." in said


async def test_rows_that_cant_be_read_are_named_and_nothing_is_kept(cup: Stage) -> None:
    opened = await cup.coach.slash(cup.questions, "event new")
    typed = "1 par 4, 372\n2 372 yd\n3 par 9, 400\n1 par 3, 150"
    message = only_message(await fill(cup, cup.coach, opened, **FACTS, holes=typed))
    told, own = message.embeds
    assert told.title == "Nothing was kept: a row under “Holes, one a row” can't be read"
    said = [row for row in text(told.description).split("\n") if row.startswith("**")]
    assert [row.split(" ")[1] for row in said] == ["2**", "3**", "4**"]
    assert said[0].endswith(
        "A hole's row is its number, its par, its length, and what else is known."
    )
    assert said[1].startswith("**Row 3** `3 par 9, 400`: The par: ") and said[2].endswith(
        "Hole 1 stands twice."
    )
    assert text(own.description) == f"```\n{typed}\n```"
    said = await refused(cup, cup.coach, "event use", event="Harbour Cup")
    assert "There is no event of this name" in said


async def test_a_name_that_is_taken_is_refused(cup: Stage) -> None:
    opened = await cup.coach.slash(cup.questions, "event new")
    result = await fill(cup, cup.coach, opened, **FACTS | {"name": "windlass CUP"}, holes=HOLES)
    assert "There is an event of this name already." in only_message(result).content


async def test_a_holes_facts_change_and_its_note_follows_in_place(cup: Stage) -> None:
    await card(cup, cup.coach, "event round", round="Closing round")
    await cup.coach.slash(cup.questions, "publish", hole=3)
    before = cup.notes.last_message
    oar = before.embeds[0].fields[1]
    assert oar.name == "Oar · 6 mph from 85 off line"  # from SW, 225, on a bearing of 140
    embed = await card(cup, cup.coach, "event hole", row="3 par 5, 455, bearing 165, The Groyne")
    assert embed.description == "3 par 5, 455 yd, bearing 165, The Groyne"
    (after,) = cup.notes.history()
    assert after.id == before.id
    assert after.embeds[0].title == "Hole 3 · par 5 · 455 yd · The Groyne"
    moved = after.embeds[0].fields[1]
    assert moved.name == "Oar · 6 mph from 2"
    assert text(moved.value).split("\n")[1] != text(oar.value).split("\n")[1]
    said = await refused(cup, cup.coach, "event hole", row="12 par 3, 140")
    assert "The event has holes 1 to 9." in said


async def test_winds_are_said_back_and_an_hour_past_twelve_is_refused(cup: Stage) -> None:
    opened = await cup.coach.slash(cup.questions, "event winds", division="Oar")
    embed = only_embed(await fill(cup, cup.coach, opened, rows="1: 12 from 10:30"))
    assert embed.title == "Winds set for hole 1"
    rows = text(embed.description).split("\n")
    assert rows[:3] == ["Oar, Opening round", "1: 12 mph from 10:30", "2: 7 mph from 3"]
    assert len(rows) == 1 + 9
    opened = await cup.coach.slash(cup.questions, "event winds", division="Oar")
    told = only_message(await fill(cup, cup.coach, opened, rows="1: 12 from 14")).embeds[0]
    assert "“from 14” is past the 12 hours of a clock face" in text(told.description)


async def test_the_winds_of_a_draft_are_set_before_anybody_sees_it(cup: Stage) -> None:
    await cup.coach.slash(cup.questions, "publish", hole=1)
    await card(cup, cup.coach, "event copy", name="Second Cup")
    opened = await cup.coach.slash(
        cup.questions, "event winds", division="Sail", event="second cup"
    )
    embed = only_embed(await fill(cup, cup.coach, opened, rows="1: 3 from 7"))
    assert "1: 3 mph from 7" in text(embed.description).split("\n")
    (note,) = cup.notes.history()
    assert note.embeds[0].fields[0].name == "Sail · 8 mph from 1"


def as_before_revisions(data: bytes) -> bytes:
    """An export of before exports named the revision they were made from."""
    first, second, rest = data.split(b"\n", 2)
    assert second.startswith(b"# revision ")
    return b"\n".join((first, rest))


@pytest.mark.parametrize("of_before", [False, True])
async def test_an_older_file_drops_no_line_shared_since_and_says_so(
    cup: Stage, of_before: bool
) -> None:
    file = only_message(await cup.coach.slash(cup.questions, "cup export")).attachments[0]
    data = await file.read()
    assert data.startswith(b"# exported 20")
    await cup.tamsin.slash(cup.questions, "me division", division="Sail")
    shot = "6-iron, 155, up 6 aim 6 right"
    await cup.tamsin.slash(cup.questions, "share", hole=2, shot=shot, result="in")
    changed = data.replace(b'title = "the safe one"', b'title = "the sure one"')
    changed = as_before_revisions(changed) if of_before else changed
    opened = await cup.coach.slash(cup.questions, "event winds", division="Oar")
    await fill(cup, cup.coach, opened, rows="7: 11 from 4")
    asked = only_message(
        await cup.coach.slash(cup.questions, "event load", file=("cup.toml", changed))
    )
    assert asked.embeds[0].title == "Windlass Cup: load this file?"
    assert text(asked.embeds[0].description).split("\n") == [
        "Newer here than the file: hole 7; line 2S1.",
        "Nothing is loaded yet. What is replaced or taken out stays in its history.",
    ]
    assert labels_of(asked) == ["Load, keep these", "Load the file as it is", "Give up"]
    await cup.restart()
    await cup.coach.click(asked, label="Load, keep these")
    rows = text(as_it_is(cup, asked).embeds[0].description).split("\n")
    assert rows[:3] == [
        "Changed: line 1B (last by rosalind).",
        "What was there before is kept: see /cup history.",
        "Newer here than the file: hole 7; line 2S1.",
    ]
    shown = await card(cup, cup.coach, "cup line", hole=2, line="S1")
    assert text(shown.title).startswith("Hole 2, line S1")
    found = await cup.bot.services.book.hole(cup.guild.id, 7)  # type: ignore[union-attr]
    assert found.wind(division="Oar", round_="Opening round") == "11 mph from 4"


async def test_the_revision_tells_what_is_newer_where_the_clock_went_wrong(cup: Stage) -> None:
    """The clock of the machine is put back by a day after the export."""
    file = only_message(await cup.coach.slash(cup.questions, "cup export")).attachments[0]
    data = await file.read()
    services = cup.bot.services
    assert services is not None
    right = services.db._clock
    services.db._clock = lambda: right() - timedelta(days=1)
    opened = await cup.coach.slash(cup.questions, "event winds", division="Oar")
    await fill(cup, cup.coach, opened, rows="7: 11 from 4")
    newer = "Newer here than the file: hole 7."
    for sent, said in ((data, newer), (as_before_revisions(data), None)):
        asked = only_message(
            await cup.coach.slash(cup.questions, "event load", file=("cup.toml", sent))
        )
        rows = text(asked.embeds[0].description).split("\n")
        assert (rows[0] == newer) is (said is not None), rows
        if said is not None:
            await cup.coach.click(asked, label="Give up")


async def test_a_revision_of_another_server_says_nothing_here(cup: Stage) -> None:
    """Its number is of another book: the time alone counts, which is before all that stands."""
    file = only_message(await cup.coach.slash(cup.questions, "cup export")).attachments[0]
    _, second, rest = (await file.read()).split(b"\n", 2)
    for stamp, newer in (
        (second.replace(b"# revision ", b"# revision 9"), True),
        (second.partition(b" of ")[0] + b" of 2026-02-03T04:05:06+00:00", True),
        (second, False),
    ):
        data = b"\n".join((b"# exported 2026-01-01T00:00:00+00:00", stamp, rest))
        data = data.replace(b'title = "the safe one"', b'title = "the sure one"')
        asked = only_message(
            await cup.coach.slash(cup.questions, "event load", file=("cup.toml", data))
        )
        rows = text(asked.embeds[0].description).split("\n")
        assert (rows[0] == "Newer here than the file: line 1B.") is newer, rows
        if newer:
            await cup.coach.click(asked, label="Give up")


async def test_what_is_missing_from_a_file_is_named_and_asked_for(cup: Stage) -> None:
    await cup.tamsin.slash(cup.questions, "me division", division="Sail")
    shot = "6-iron, 155, up 6 aim 6 right"
    await cup.tamsin.slash(cup.questions, "share", hole=2, shot=shot, result="in")
    short = CUP[: CUP.index(b"[[holes]]\nnumber = 9")]
    for label, left in (("Give up", True), ("Load, keep these", True)):
        asked = only_message(
            await cup.coach.slash(cup.questions, "event load", file=("cup.toml", short))
        )
        said = text(asked.embeds[0].description).split("\n")
        assert said[0] == "Missing from the file: hole 9; line 2S1."
        await cup.coach.click(asked, label=label)
        shown = await card(cup, cup.coach, "cup show")
        assert ("**9**" in text(shown.description)) is left
    asked = only_message(
        await cup.coach.slash(cup.questions, "event load", file=("cup.toml", short))
    )
    await cup.coach.click(asked, label="Load the file as it is")
    rows = text(as_it_is(cup, asked).embeds[0].description).split("\n")
    assert rows[0] == "Removed: hole 9." and rows[1].startswith("Removed: lines 2S1 (last by tam")
    assert "**9**" not in text((await card(cup, cup.coach, "cup show")).description)


async def test_for_me_without_a_division_asks_for_it_and_goes_on(cup: Stage) -> None:
    await cup.coach.slash(cup.questions, "publish", hole=1)
    asked = await cup.tamsin.click(cup.notes.last_message, label="For me")
    assert asked.modal is None
    assert only_embed(asked).title == "Which division do you play in?"
    opened = await cup.tamsin.click(only_message(asked), label="Oar")
    assert opened.modal is not None and fields_of(opened.modal)["wind"] == "6 mph from 1"
    again = await cup.tamsin.click(cup.notes.last_message, label="For me")
    assert again.modal is not None and fields_of(again.modal)["wind"] == "6 mph from 1"


async def test_a_ceiling_without_a_division_asks_for_it_and_shows_its_lines(cup: Stage) -> None:
    asked = await cup.tamsin.slash(cup.questions, "ceiling", hole=1, line="B")
    assert only_embed(asked).title == "Which division do you play in?"
    shown = only_embed(await cup.tamsin.click(only_message(asked), label="Sail"))
    held = text(shown.fields[-1].value).split("\n")
    assert [row[:5] for row in held] == ["**A**", "**C**"]
    said = await refused(cup, cup.tamsin, "ceiling", hole=1, line="B")
    assert "For Sail, hole 1 has lines A, C." in said
    assert "/ceiling hole:1 line:A" in said


async def test_a_ceiling_without_a_letter_is_that_of_the_line_a_division_plays_first(
    cup: Stage,
) -> None:
    await cup.tamsin.slash(cup.questions, "me division", division="Oar")
    own = only_embed(await cup.tamsin.slash(cup.questions, "ceiling", hole=2))
    assert text(own.title).startswith("Hole 2, line B: holds up to ")
    said = await refused(cup, cup.tamsin, "ceiling", hole=2, line="A")
    assert "/ceiling hole:2 line:B" in said


async def test_winds_stand_in_columns_apart_however_wide(cup: Stage) -> None:
    await cup.tamsin.slash(cup.questions, "bag", units="metres km/h")
    said = only_message(await cup.tamsin.slash(cup.questions, "cup winds"))
    drawn = text(said.attachments[0].description)
    assert "km/h, and the hour it comes from" in drawn and "mph" not in drawn
    (shown,) = said.embeds
    rows = [row for field in shown.fields for row in text(field.value).split("\n")]
    assert any("/4:30 " in row for row in rows)
    assert not [row for row in rows if row.count("/") > len(row.split()) - 1]
    assert all(len(row) <= 30 for row in rows)
