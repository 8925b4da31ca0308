"""Events as files: what comes out comes back in, and what can't come in is said line by line."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.services.book.toml_in import read_event
from bot.services.book.toml_out import event_toml
from shared.book import Event, Hole, HoleWind, Line, LineShot, Room, Worked
from shared.kit import Kit
from shared.toml_file import FileProblemsError, decode, read_toml
from tests.unit.book_kit import demo_cup, demo_cup_text, demo_kit, small_event

DIVISIONS = ("Sail", "Oar")
ROUNDS = ("First", 'the "last" \\ one')


@pytest.fixture(scope="module")
def kit() -> Kit:
    return demo_kit()


def problems(text: str, kit: Kit) -> list[tuple[int, str, str]]:
    with pytest.raises(FileProblemsError) as caught:
        read_event(text, file="cup.toml", kit=kit)
    return [(one.line, one.field, one.sentence) for one in caught.value.problems]


# Out and back in --------------------------------------------------------------------------------

prose = st.text(alphabet="aé漢 ש👩\u200d🚀\"'\\#[]{}=\n*_`@<>", max_size=40)
titles = prose.map(lambda text: f"x{text}"[:60])
yards = st.integers(0, 8000).map(lambda n: n / 40)
marks = st.integers(-2000, 2000).map(lambda n: n / 10)


@st.composite
def shots(draw: st.DrawFn) -> LineShot:
    least = draw(yards)
    return LineShot(
        shot=draw(titles),
        worked=draw(
            st.none()
            | st.builds(Worked, right=marks, long=marks, unit=st.sampled_from(("marks", "yd")))
        ),
        room=draw(
            st.none()
            | st.builds(Room, short_yd=st.none() | yards, left_yd=st.none() | yards, long_yd=yards)
        ),
        leaves_yd=draw(st.none() | st.just((least, least + 7.25))),
        note=draw(prose),
    )


@st.composite
def lines(draw: st.DrawFn, variant: str) -> Line:
    return Line(
        variant=variant,
        title=draw(st.none() | titles),
        status=draw(st.sampled_from(("idea", "tested", "recommended", "retired"))),
        author=draw(titles),
        divisions=tuple(draw(st.lists(st.sampled_from(DIVISIONS), unique=True))),
        wind=draw(titles),
        shots=tuple(draw(st.lists(shots(), min_size=1, max_size=3))),
        notes=draw(prose),
    )


@st.composite
def events(draw: st.DrawFn) -> Event:
    holes = []
    for number in range(1, 10):
        letters = draw(st.sampled_from(("", "A", "BCA")))
        winds = draw(st.lists(st.tuples(st.sampled_from(DIVISIONS), titles), max_size=1))
        holes.append(
            Hole(
                number=number,
                name=draw(st.none() | titles),
                par=draw(st.integers(3, 6)),
                yards=draw(yards) + 90,
                bearing_deg=draw(st.none() | st.sampled_from((0.0, 359.5))),
                winds=tuple(HoleWind(division=d, round=ROUNDS[1], wind=w) for d, w in winds),
                lines=tuple(draw(lines(letter)) for letter in letters),
            )
        )
    return Event(name=draw(titles), divisions=DIVISIONS, rounds=ROUNDS, holes=tuple(holes))


@settings(max_examples=60, deadline=None)
@given(events())
def test_an_event_written_and_read_again_is_the_same(event: Event) -> None:
    assert read_toml(event_toml(event), file="x.toml", model=Event) == event


def test_the_demo_cup_is_read_with_the_demo_kit_and_comes_back(kit: Kit) -> None:
    cup = demo_cup(kit)
    assert (cup.name, len(cup.holes), cup.divisions) == ("Windlass Cup", 9, ("Sail", "Oar"))
    text = event_toml(cup)
    assert read_event(text, file="cup.toml", kit=kit) == cup
    assert event_toml(read_event(text, file="cup.toml", kit=kit)) == text


def test_what_is_written_is_readable(kit: Kit) -> None:
    text = event_toml(small_event())
    assert 'worked = {right = 5.4, long = 2.5, unit = "marks"}' in text
    assert "leaves_yd = [144, 152]" in text
    assert '    {division = "Oar", round = "First", wind = "6 mph from NW"},' in text
    assert text.index('variant = "A"') < text.index('variant = "B"')  # whatever came first


# What can't come in -----------------------------------------------------------------------------


def replaced(*pairs: tuple[str, str]) -> str:
    text = demo_cup_text()
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def test_every_error_comes_at_once_with_its_line_and_field(kit: Kit) -> None:
    text = replaced(
        ('wind = "8 mph from 1"', 'wind = "8 mph from Mars"'),
        ('shot = "6-iron (yew), 154 yd', 'shot = "6-iron (brass), 154 yd'),
        ("par = 5", "par = 9"),
        ('status = "retired"', 'status = "asleep"'),
        ('shot = "hybrid (yew), 179 yd, down 3 yd"', 'shot = "hybrid (yew)"'),
    )
    found = problems(text, kit)
    assert [line for line, _, _ in found] == [
        line_of(text, part)
        for part in ("from Mars", "(brass)", "par = 9", '"asleep"', 'hybrid (yew)"')
    ]
    fields = [field for _, field, _ in found]
    assert fields[0] == "holes[Slipway].winds[1].wind"
    assert fields[2] == "holes[Long Fetch].par"
    assert fields[4] == "holes[Salt Pan].lines[1].shots[1].shot"
    sentences = [sentence for _, _, sentence in found]
    assert "Mars" in sentences[0]
    assert "brass" in sentences[1]
    assert sentences[2] == "“par” must be at most 6, not 9."
    assert "idea, tested, recommended or retired" in sentences[3]
    assert sentences[4] == "A shot of a line needs a distance."


def test_a_compass_wind_needs_the_bearing_of_its_hole(kit: Kit) -> None:
    text = replaced(("bearing_deg = 140\n", ""))
    found = problems(text, kit)
    assert {line for line, _, _ in found} == {
        number for number, line in enumerate(text.split("\n"), 1) if "mph from SW" in line
    }
    assert all("bearing" in sentence for _, _, sentence in found)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("number = 2", "number = 1", "Hole 1 stands twice."),
        ('variant = "B"', 'variant = "A"', "Line A stands twice."),
        ('{division = "Oar", round = "O', '{division = "Sail", round = "O', "twice for this hole"),
        ('divisions = ["Sail"]\n', 'divisions = ["Sale"]\n', "no division “Sale”"),
        ('round = "Closing round", wind = "11', 'round = "Third", wind = "11', "no round “Third”"),
        ('name = "Windlass Cup"', 'name = "\\u0000"', "can't be shown"),
        ('name = "Windlass Cup"', 'name = " \\u200b"', "a name that can be seen"),
        ("leaves_yd = [128, 137]", "leaves_yd = [137, 128]", "[least, most]"),
        ("yards = 372", "yards = nan", "finite"),
        ("yards = 372", "yards = 1979-05-27", "a date"),
        ('wind = "11 mph from 10"', 'wind = "11 mph from 10, driver"', "a wind and nothing else"),
        ('wind = "11 mph from 10"', 'wind = "@everyone 11 mph"', "mention"),
        ('shot = "driver (yew), 228 yd"', 'shot = "driver (yew), 228 yd, ball eagle"', "eagle"),
        ('title = "the safe one"', 'colour = "red"', "“colour” is not a field here"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said(kit: Kit, old: str, new: str, says: str) -> None:
    text = replaced((old, new))
    found = problems(text, kit)
    assert any(says in sentence for _, _, sentence in found), found


def test_an_error_says_a_right_line_of_its_field(kit: Kit) -> None:
    with pytest.raises(FileProblemsError) as caught:
        read_event(replaced(("leaves_yd = [128, 137]", "leaves_yd = 7")), file="c.toml", kit=kit)
    assert caught.value.example == "leaves_yd = [95, 110]"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\xff\xfe" + "name = 'x'".encode("utf-16-le"), "not UTF-8"),
        (b'name = "Sp\xe4t"', "not UTF-8"),
        (b'name = "a\x00b"', "control character"),
        (b"a = " + b"[" * 200_000, "nest too deep"),
        (b"a." * 300_000 + b"b = 1", "nest too deep"),
        (b"x = 1\n" * 3, "already stands"),
        (b"", "nothing in the file"),
        (b"# only a comment\n", "nothing in the file"),
        (b"name = \"" + b"a" * 900_000 + b"\"", "at most 60 characters"),
        (b"z" * 5_000_000, "5,000,000 bytes"),
    ],
)  # fmt: skip
def test_a_hostile_file_is_met_with_a_sentence(kit: Kit, data: bytes, says: str) -> None:
    with pytest.raises(FileProblemsError) as caught:
        read_event(decode(data, "bad.toml"), file="bad.toml", kit=kit)
    assert any(says in one.sentence for one in caught.value.problems)


def test_thousands_of_bad_texts_are_cut_short(kit: Kit) -> None:
    wind = '{ division = "Sail", round = "First", wind = "zz qq" }'
    head = 'name = "x"\ndivisions = ["Sail"]\nrounds = ["First"]\n'
    hole = f"[[holes]]\nnumber = 1\npar = 4\nyards = 400\nwinds = [{', '.join([wind] * 9000)}]\n"
    found = problems(head + hole, kit)
    assert 50 <= len(found) <= 100


def test_numbers_of_a_file_are_yards_whoever_loads_it(kit: Kit) -> None:
    event: Any = read_event(
        replaced(('shot = "driver (yew), 228 yd"', 'shot = "driver yew 228"')),
        file="cup.toml",
        kit=kit,
    )
    assert event.hole(1).line("A").shots[0].shot == "driver yew 228"
