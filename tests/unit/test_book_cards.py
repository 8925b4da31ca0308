"""Cards of holes and lines: the right words, and within Discord's limits whatever is in them."""

import discord
import pytest

from bot.chat.file_problems import problems_embed
from bot.commands.book.event_cards import event_embed, loaded_embed
from bot.commands.book.line_card import line_embed
from bot.commands.book.line_cards import (
    conflict_embeds,
    given_up_embed,
    history_embed,
    refused_embeds,
)
from bot.commands.notes.card import note_embed
from bot.commands.notes.more import more_pages
from bot.services.book.changes import EventDiff
from bot.services.book.drafts import LineDraft, draft_from
from bot.services.book.lines import LineConflictError
from bot.services.book.reading import LineReading, read_through
from bot.services.book.shot_rows import RowError, RowsError
from bot.services.book.stored import KeptLine
from bot.services.caddie.caddie import Caddie
from bot.services.notes.parts import parts_of
from bot.services.notes.service import Note
from shared.book import Event, Hole, HoleWind, Line, LineShot, Room, Worked
from shared.errors import InputError
from shared.toml_file import FileProblem, FileProblemsError
from storage.database import utc_now
from tests.unit.book_kit import demo_kit, small_event

CADDIE = Caddie(demo_kit())
WIDE = "🏆*_`דגל"  # two units each, escaped, turning


def length(*embeds: discord.Embed) -> int:
    """How much of a message's 6,000 these embeds take, counted in UTF-16 units."""
    texts: list[str] = []
    for embed in embeds:
        texts += [embed.title or "", embed.description or "", embed.footer.text or ""]
        for field in embed.fields:
            texts += [field.name or "", field.value or ""]
    return sum(len(text.encode("utf-16-le")) // 2 for text in texts)


def holds(*embeds: discord.Embed) -> None:
    assert length(*embeds) <= 6000
    for embed in embeds:
        assert len(embed.title or "") <= 256
        assert len(embed.description or "") <= 4096
        assert len(embed.footer.text or "") <= 2048
        assert len(embed.fields) <= 25
        for field in embed.fields:
            assert 1 <= len(field.name or "") <= 256
            assert 1 <= len(field.value or "") <= 1024


def hole4() -> Hole:
    hole = small_event().hole(4)
    assert hole is not None
    return hole


def line4(variant: str) -> Line:
    line = hole4().line(variant)
    assert line is not None
    return line


def reading(line: Line) -> LineReading:
    return read_through(caddie=CADDIE, line=line, bearing_deg=250.0)


def full_line(variant: str = "A") -> Line:
    """As long as a line can be, in the widest letters."""
    shot = LineShot(
        shot=("driver (oak), 226 yd, " + "up 3 yd " * 30)[:200],
        worked=Worked(right=-123.4, long=-56.7, unit="yd"),
        room=Room(short_yd=12.5, long_yd=100, left_yd=99.9, right_yd=1),
        leaves_yd=(100, 900),
        note=(WIDE * 200)[:600],
    )
    return Line(
        variant=variant,
        title=(WIDE * 20)[:60],
        status="recommended",
        author=(WIDE * 20)[:60],
        wind=("8 mph from 2" + WIDE * 40)[:200],
        shots=(shot,) * 8,
        notes=(WIDE * 200)[:600],
        divisions=("Sail", "Oar"),
    )


def test_a_line_is_read_back_with_what_the_engine_makes_of_it() -> None:
    embed = line_embed(reading(line4("A")), hole=hole4(), units="yards", mark="mark")
    assert embed.title == "Hole 4, line A: over the bunker"
    assert embed.description == (
        "Tested in **8 mph from 2**\n★ recommended · for all divisions · by Rosalind\nTwo went in."
    )
    first, second = embed.fields
    answer = reading(line4("A")).shots[0].answer
    assert answer is not None
    assert first.name == "1 · driver (oak), 226 yd"
    assert (first.value or "").split("\n") == [
        "**Aim 5.4 marks right, 2.5 long** (worked)",
        f"Computed {answer.allowance.right_marks:.1f} marks ({answer.allowance.right_yd:.1f} yd)"
        f" right, {answer.allowance.long_marks:.1f} ({answer.allowance.long_yd:.1f} yd) long",
        f"Carry 226 yd, plays {answer.plays_yd:.0f} yd · driver oak",
        "Room 12 yd short, 9 yd right",
        "Leaves 144 to 152 yd",
        "past the left bunker",
    ]
    assert (second.value or "").split("\n")[0] == "**Aim 3.1 yd left, 1.5 long** (worked)"


def test_a_line_without_an_allowance_shows_the_computed_one_first() -> None:
    embed = line_embed(reading(line4("B")), hole=hole4(), units="metric", mark="ring")
    first = (embed.fields[0].value or "").split("\n")
    assert first[0].startswith("**Aim ") and first[0].endswith("long** (computed)")
    assert " rings (" in first[0] and " m) right" in first[0]
    assert first[1].startswith("Carry 188 m, plays ")


def test_a_shot_that_cant_be_computed_is_said_and_the_others_are_shown() -> None:
    line = line4("A").model_copy(
        update={
            "shots": (
                LineShot(shot="sand wedge, 300 yd"),
                LineShot(shot="spoon, 10"),
                LineShot(shot="8-iron, 120"),
            )
        }
    )
    values = [shot.trouble for shot in reading(line).shots]
    assert "would reach" in values[0] or "no club" in values[0]
    assert "spoon" in values[1]
    assert values[2] == ""
    embed = line_embed(reading(line), hole=hole4(), units="yards", mark="mark")
    assert [field.value.startswith("Not computed:") for field in embed.fields if field.value] == [
        True,
        True,
        False,
    ]


def note_of(hole: Hole, event: Event, *, division: str | None = None) -> Note:
    shown = hole.model_copy(update={"lines": tuple(hole.lines_for(division))})
    divisions = event.divisions if division is None else (division,)
    (parts,) = parts_of(caddie=CADDIE, holes=[shown], divisions=divisions, round_="First")
    return Note(event, shown, "First", division, "yards", "mark", parts, [], ["c" * 900])


def test_a_note_has_a_part_a_division_with_its_lines_moved_to_its_wind() -> None:
    lines = (
        line4("A").model_copy(update={"status": "retired"}),
        line4("B"),
        line4("A").model_copy(update={"variant": "C", "status": "recommended"}),
    )
    event, hole = small_event(), hole4().model_copy(update={"lines": lines})
    embed = note_embed(note_of(hole, event))
    assert [field.name for field in embed.fields[:1]] == ["Sail · 8 mph from 2"]
    assert "★ **C** over the bunker" in (embed.fields[0].value or "")
    assert "**B**" not in (embed.fields[0].value or "")
    oar = embed.fields[1]
    assert (oar.name or "").startswith("Oar · 6 mph from ")
    assert "\n**B**: " in (oar.value or "") and "moved from " in (oar.value or "")
    alone = note_embed(note_of(hole, event, division="Oar"))
    assert (alone.fields[0].name, alone.fields[0].value) == (oar.name, oar.value)


def test_divisions_of_one_wind_and_line_share_a_part() -> None:
    event = small_event()
    winds = tuple(
        HoleWind(division=name, round="First", wind="9 mph from 4") for name in event.divisions
    )
    hole = hole4().model_copy(update={"winds": winds, "lines": (line4("A"),)})
    hole = hole.model_copy(update={"lines": (line4("A").model_copy(update={"divisions": ()}),)})
    (part,) = note_of(hole, event).parts
    assert part.divisions == event.divisions
    assert part.lines[0].moved is not None


def test_a_wind_of_the_compass_turns_with_the_holes_bearing() -> None:
    event = small_event()
    wind = HoleWind(division="Sail", round="First", wind="6 mph from 315 hole 95")
    hole = hole4().model_copy(
        update={"winds": (wind,), "bearing_deg": 105.0, "lines": (line4("A"),)}
    )
    (part,) = note_of(hole, event, division="Sail").parts
    assert part.wind is not None and part.wind.relative_deg == 210.0


def test_a_hole_without_a_line_says_so() -> None:
    event = small_event()
    hole = event.hole(2)
    assert hole is not None
    embed = note_embed(note_of(hole, event, division="Oar"))
    assert embed.fields[0].name == "Oar · wind not known yet"
    assert embed.fields[0].value == "No line yet; a coach adds one with /line add."


# Within the limits ------------------------------------------------------------------------------


def test_the_longest_line_fits_a_message() -> None:
    found = reading(full_line())
    holds(line_embed(found, hole=hole4(), units="metric", mark="x" * 40))


def test_26_of_the_longest_lines_fit_a_note_and_every_word_is_under_more() -> None:
    event = small_event().model_copy(update={"name": (WIDE * 9)[:60]})
    lines = tuple(full_line(chr(65 + i)) for i in range(26))
    hole = hole4().model_copy(update={"lines": lines, "name": (WIDE * 9)[:60]})
    note = note_of(hole, event)
    embed = note_embed(note)
    holds(embed)
    assert "under More" in str(embed.to_dict()) or "Under More" in str(embed.to_dict())
    one = reading(lines[0])
    pages = more_pages(note, [LineReading(line, one.shots) for line in lines])
    assert len(pages) > 5
    for page in pages:
        holds(page)
    names = [str(field.name) for page in pages for field in page.fields]
    assert {name[0] for name in names if name[1:4] == " · "} == {chr(65 + i) for i in range(26)}
    assert "Ceilings" in names


def test_a_whole_event_of_wide_names_fits() -> None:
    event = small_event()
    holes = tuple(
        Hole(
            number=n,
            name=(WIDE * 9)[:60],
            par=5,
            yards=899,
            lines=tuple(line4("A").model_copy(update={"variant": chr(65 + i)}) for i in range(26)),
        )
        for n in range(1, 19)
    )
    names = tuple((f"{n}" + WIDE * 9)[:60] for n in range(25))
    wide = event.model_copy(update={"holes": holes, "divisions": names, "rounds": names})
    assert isinstance(wide, Event)
    holds(event_embed(wide, round_=names[3], units="yards"))
    pairs = tuple((n, chr(65 + i)) for n in range(1, 19) for i in range(26))
    authors = dict.fromkeys(pairs, (WIDE * 9)[:60])
    diff = EventDiff(
        event=wide, new=False, changed=pairs, removed=pairs, added=pairs, authors=authors
    )
    holds(loaded_embed(diff))


def test_an_event_at_a_glance() -> None:
    embed = event_embed(small_event(), round_="Second", units="yards")
    lines = (embed.description or "").split("\n")
    assert lines[:2] == ["Divisions: Sail, Oar", "Rounds: First, **Second** (now)"]
    assert lines[6] == "**4** · par 4 · 388 yd · A ★, B"
    assert lines[4] == "**2** · par 3 · 158 yd · no line"
    assert embed.footer.text == "Par 35, 3131 yd · ★ recommended"


def test_a_hundred_problems_fit() -> None:
    problems = tuple(
        FileProblem(n, f"holes[{WIDE * 5}]", (WIDE * 200)[:700]) for n in range(1, 101)
    )
    error = FileProblemsError("x", "e`" * 90, problems=problems, file="f")
    embed = problems_embed(error)
    holds(embed)
    assert embed.title == "Nothing was loaded: 100 things to put right"


@pytest.mark.parametrize("letter", ["`", "🏆", "a"])
def test_a_refused_draft_shows_all_its_text(letter: str) -> None:
    draft = LineDraft(
        token="a1", event="x", hole=4, author="x", wind="8", rows=letter * 1990, notes="end of it"
    )
    errors = tuple(
        RowError((WIDE * 99)[:500], "8.4 mph from 2, 5-iron, 165", "x", n) for n in range(1, 9)
    )
    embeds = refused_embeds(draft, RowsError("s", "e", errors=errors))
    holds(*embeds)
    assert "\n**Shot 1** " in (embeds[0].description or "")
    assert "end of it" in (embeds[1].description or "")
    holds(given_up_embed(draft))
    holds(*refused_embeds(draft, InputError("The wind was not understood.", "8 from 2")))


def kept(line: Line | None, revision: int, reason: str, name: str | None = "Tamsin") -> KeptLine:
    return KeptLine(4, "A", line, revision, 12, name, reason, utc_now())


def test_a_conflict_shows_both_texts() -> None:
    mine = line4("A").model_copy(update={"notes": "mine"})
    error = LineConflictError("s", "e", newest=kept(line4("B"), 7, "edited"), unsaved=mine)
    embeds = conflict_embeds(error, mark="mark")
    assert "**Tamsin** changed line 4A" in (embeds[0].description or "")
    assert "3-wood (ash), 206 yd" in (embeds[0].description or "")
    assert "mine" in (embeds[1].description or "")
    assert "aim 5.4 marks right 2.5 marks long" in (embeds[1].description or "")
    gone = LineConflictError("s", "e", newest=kept(None, 8, "loaded"), unsaved=full_line())
    embeds = conflict_embeds(gone, mark="mark")
    assert "removed line 4A" in (embeds[0].description or "")
    holds(*embeds)
    both = LineConflictError("s", "e", newest=kept(full_line(), 8, "x"), unsaved=full_line())
    holds(*conflict_embeds(both, mark="mark"))


def test_a_history_says_what_each_revision_changed() -> None:
    first = line4("A")
    second = first.model_copy(update={"status": "retired"})
    third = second.model_copy(update={"notes": "x", "wind": "calm"})
    found = [
        kept(first, 5, "brought back revision 1"),
        kept(None, 4, "loaded", None),
        kept(third, 3, "edited"),
        kept(second, 2, "status retired"),
        kept(first, 1, "added"),
    ]
    said = [
        line.split(": ", 1)[1]
        for line in (history_embed(found, mark="mark").description or "").split("\n")
        if line.startswith("**")
    ]
    assert said == [
        "brought back revision 1",
        "removed",
        "wind, notes changed",
        "recommended → retired",
        "added",
    ]
    holds(history_embed([kept(full_line(), n, "edited", WIDE * 9) for n in range(50)], mark="m"))


def test_a_draft_of_a_line_longer_than_a_form_is_refused_and_not_cut() -> None:
    with pytest.raises(InputError, match="longer than a form"):
        draft_from(kept(full_line(), 1, "loaded"), event="x", mark="mark")
