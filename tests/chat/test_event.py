"""/event: a whole event in and out by a file, good, broken and hostile; copies, rounds, winds."""

import pytest

from bot.services.book.event_service import require_size
from bot.services.book.toml_in import read_event
from bot.settings import DEMO_KIT, load_kit
from shared.errors import InputError
from tests.chat.asking import QUIET, card, refused, sent_mentions, suggested
from tests.chat.booking import CUP, fields_of, fill, load_cup, only_embed, only_message
from tests.chat.conftest import Stage


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    return stage


async def test_before_a_load_a_member_is_told_what_is_missing(stage: Stage) -> None:
    for command, options in (
        ("cup show", {}),
        ("cup export", {}),
        ("cup line", {"hole": 4, "line": "A"}),
        ("cup history", {"hole": 4, "line": "A"}),
        ("me division", {"division": "Sail"}),
    ):
        said = await refused(stage, stage.tamsin, command, **options)
        assert "There is no cup here yet; a coach begins one in a form, or loads its file." in said
    assert await suggested(stage, stage.tamsin, "cup line", "line", "", hole=4) == []
    assert await suggested(stage, stage.tamsin, "me division", "division", "") == []


async def test_a_coach_loads_a_file_and_everybody_sees_the_event(stage: Stage) -> None:
    embed = await load_cup(stage)
    assert embed.title == "Windlass Cup is in the book"
    assert (embed.description or "").split("\n") == [
        "A new event: 9 holes, 22 lines.",
        "It is the current event now.",
        "Post its notes with /publish.",
    ]
    shown = await card(stage, stage.tamsin, "cup show")
    assert shown.title == "Windlass Cup"
    lines = (shown.description or "").split("\n")
    assert lines[1] == "Rounds: **Opening round** (now), Closing round"
    assert lines[3] == "**1** Slipway · par 4 · 372 yd · A ★, B, C"
    assert len(lines) == 3 + 9


async def test_the_same_file_again_changes_nothing_and_another_says_what(cup: Stage) -> None:
    embed = await load_cup(cup)
    assert embed.title == "Windlass Cup: nothing changed"
    changed = CUP.replace(b'title = "the safe one"', b'title = "the *sure* one"')
    embed = await load_cup(cup, changed)
    assert embed.description is not None
    assert embed.description.split("\n")[0] == "Changed: line 1B (last by rosalind)."


async def test_a_broken_file_is_refused_whole_with_every_line_and_field(cup: Stage) -> None:
    broken = CUP.replace(b"par = 5", b"par = 15").replace(
        b'"8 mph from 1"', b'"8 mph from Mars"', 1
    )
    broken = broken.replace(b'title = "lay up"', b'title = "laid up"')
    embed = await load_cup(cup, broken)
    assert embed.title == "Nothing was loaded: 3 things to put right"
    lines = (embed.description or "").split("\n")
    number = CUP[: CUP.index(b'"8 mph from 1"')].count(b"\n") + 1
    assert lines[0] == (
        f"**line {number}** holes\\[Slipway].winds\\[1].wind: “Mars” was not understood."
    )
    assert lines[1].endswith("holes\\[Long Fetch].par: “par” must be at most 6, not 15.")
    assert lines[3] == 'A right line: `wind = "8.4 mph from 2"`'
    shown = await card(cup, cup.tamsin, "cup line", hole=3, line="B")
    assert shown.title == "Hole 3, line B: lay up"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"a = " + b"[" * 300_000, "nest too deep"),
        (b"a" + b".a" * 400_000 + b" = 1", "nest too deep"),
        (b'name = "a\x00b"', "control character"),
        (b'name = "a\\u0000b"', "“divisions” is missing"),
        (b'name = "\x1b[31mred"', "control character"),
        ("name = 'Sp\xe4t'".encode("latin-1"), "not UTF-8"),
        ("name = 'x'".encode("utf-16"), "not UTF-8"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "not UTF-8"),
        (b"", "nothing in the file"),
        (b"# nothing but this", "nothing in the file"),
        (b"[[holes]]\n" * 50_001, "more than 50,000 values"),
        (b"[[holes]]\n" * 100, "and 88 more"),
        ("name = '\u202e@everyone **x**'\n".encode(), "missing"),
    ],
)  # fmt: skip
async def test_a_hostile_file_gets_sentences(stage: Stage, data: bytes, says: str) -> None:
    embed = await load_cup(stage, data, name="@everyone `x` \u202e.toml")
    assert (embed.title or "").startswith("Nothing was loaded: ")
    assert says in (embed.description or "")
    assert "\u202e" not in f"{embed.title}{embed.description}"
    assert all(mentions == QUIET for mentions in sent_mentions(stage))
    said = await refused(stage, stage.tamsin, "cup show")
    assert "There is no cup here" in said


async def test_a_big_file_is_refused_before_it_is_fetched(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def fetched(*_: object, **__: object) -> bytes:
        raise AssertionError("the file was fetched")

    monkeypatch.setattr("discord.Attachment.read", fetched)
    big = b"# " + b"x" * 5_000_000
    said = await refused(stage, stage.coach, "event load", file=("big.toml", big))
    assert "big.toml has 5,000,002 bytes; an event's file has at most 1,000,000." in said
    with pytest.raises(InputError):
        require_size(1_000_001, "x")
    require_size(1_000_000, "x")


async def test_what_is_exported_is_what_was_loaded(cup: Stage) -> None:
    result = await cup.tamsin.slash(cup.questions, "cup export")
    message = only_message(result)
    assert message.ephemeral
    (file,) = message.attachments
    assert file.filename == "windlass-cup.toml"
    data = await file.read()
    kit = load_kit(DEMO_KIT)
    exported = read_event(data.decode(), file=file.filename, kit=kit)
    assert exported == read_event(CUP.decode(), file="cup.toml", kit=kit)
    embed = await load_cup(cup, data)
    assert embed.title == "Windlass Cup: nothing changed"


async def test_next_weeks_cup_starts_from_this_one(cup: Stage) -> None:
    embed = await card(cup, cup.coach, "event copy", name="Second Cup")
    assert embed.title == "Second Cup is in the book"
    assert "It has no winds yet: set them with /event winds." in (embed.description or "")
    draft = "It is a draft: nothing members see has moved. /event use event:Second Cup"
    assert draft in (embed.description or "").split("\n")
    assert (await card(cup, cup.tamsin, "cup show")).title == "Windlass Cup"
    await card(cup, cup.coach, "event use", event="Second Cup")
    assert (await card(cup, cup.tamsin, "cup show")).title == "Second Cup"
    assert await suggested(cup, cup.tamsin, "cup show", "event", "wind") == [
        ("Windlass Cup", "Windlass Cup")
    ]
    old = await card(cup, cup.tamsin, "cup show", event="windlass cup")
    assert "(now)" not in (old.description or "")
    said = await refused(cup, cup.coach, "event copy", name="second  CUP")
    assert "There is an event of this name already" in said
    await card(cup, cup.coach, "event use", event="Windlass Cup")
    assert (await card(cup, cup.tamsin, "cup show")).title == "Windlass Cup"
    said = await refused(cup, cup.coach, "event use", event="`@everyone`")
    assert said.startswith("You wrote `'@everyone'`. There is no event of this name; the book has ")


async def test_the_round_is_set_and_the_form_of_its_winds_filled(cup: Stage) -> None:
    embed = await card(cup, cup.coach, "event round", round="closing round")
    assert embed.title == "Now: Closing round"
    opened = await cup.coach.slash(cup.questions, "event winds", division="Oar")
    assert opened.modal["components"][0]["label"] == "Winds: Oar, Closing round"
    rows = fields_of(opened.modal)["rows"].split("\n")
    assert rows[:3] == ["1: 8 mph from 10", "2: 9 mph from 4", "3: 6 mph from SW"]
    result = await fill(
        cup,
        cup.coach,
        opened,
        rows="1: 9 from 3\n2:\nhole 3: 3 m/s from NW\n4 - calm\n5. 7 mph from 8",
    )
    assert only_embed(result).title == "Winds set for holes 1, 2, 3, 4"  # 5 was just that
    opened = await cup.coach.slash(
        cup.questions, "event winds", division="oar", round="Closing round"
    )
    rows = fields_of(opened.modal)["rows"].split("\n")
    assert rows[:5] == [
        "1: 9 mph from 3",
        "2:",
        "3: 3 m/s from 315 hole 140",
        "4: calm",
        "5: 7 mph from 8",
    ]


async def test_bad_rows_set_no_wind_and_come_back_as_typed(cup: Stage) -> None:
    opened = await cup.coach.slash(cup.questions, "event winds", division="Sail")
    typed = "1: 9 from 3\nx: 3\n2: 5 mph from Mars\n2: `5` into\n12: calm"
    result = await fill(cup, cup.coach, opened, rows=typed)
    message = only_message(result)
    assert message.ephemeral
    told, own = message.embeds
    assert told.title == "No wind was set: a row under “Winds” can't be read"
    assert [line for line in (told.description or "").split("\n") if line.startswith("**")] == [
        "**Row 2** `x: 3`: A row is a hole and its wind; the event has holes 1 to 9.",
        "**Row 3** `2: 5 mph from Mars`: “Mars” was not understood.",
        "**Row 5** `12: calm`: A row is a hole and its wind; the event has holes 1 to 9.",
    ]
    assert "For example: `2: 8.4 mph from 2`" in (told.description or "")
    assert own.description == "```\n" + typed.replace("`", "'") + "\n```"
    again = await cup.coach.slash(cup.questions, "event winds", division="Sail")
    assert fields_of(again.modal)["rows"].startswith("1: 8 mph from 1\n")


async def test_a_restart_keeps_the_book(cup: Stage) -> None:
    await card(cup, cup.coach, "event round", round="Closing round")
    await card(cup, cup.tamsin, "me division", division="oar")
    await cup.restart()
    shown = await card(cup, cup.tamsin, "cup show")
    assert "**Closing round** (now)" in (shown.description or "")
    assert (await load_cup(cup)).title == "Windlass Cup: nothing changed"


@pytest.mark.parametrize("division", ["", "Raft", "@everyone", "🏆", "ש", "x" * 900])
async def test_a_division_that_is_none_is_refused_with_those_that_are(
    cup: Stage, division: str
) -> None:
    said = await refused(cup, cup.tamsin, "me division", division=division)
    assert "The event has no division of this name; it has Sail, Oar." in said
    assert len(said) < 500
