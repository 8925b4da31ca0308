"""Kit files: what is wrong is said in plain words, with file, line and field."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.errors import KitFileError
from shared.kit import Kit
from shared.kit_file import FileProblemsError, decode, read_kit, render_problems
from shared.model import Model
from shared.toml_file import MAX_BYTES, MAX_PROBLEMS, read_toml

DEMO = (Path(__file__).parents[2] / "bot" / "demo" / "kit.toml").read_text(encoding="utf-8")
SMALL = """\
name = "small"
mark = { full_yd = 1.7, short_yd = 0.9 }

[[balls]]
name = "tern"

[[clubs]]
name = "5-iron"
family = "long iron"
aliases = ["5i"]
grades = [
    { name = "ash", full_yd = 165, short_yd = 107 },
    { name = "oak", full_yd = 168, short_yd = 109 },
]

[[clubs]]
name = "driver"
family = "wood"
grades = [{ name = "ash", full_yd = 232, short_yd = 150 }]
"""


def refused(text: str) -> FileProblemsError:
    with pytest.raises(KitFileError) as caught:
        read_kit(text, file="ours.toml")
    error = caught.value
    assert isinstance(error, FileProblemsError)
    assert error.file == "ours.toml" and error.problems[0].line == error.line
    assert error.example
    for problem in error.problems:
        assert problem.sentence.endswith(".")
        assert "Input should" not in problem.sentence and "pydantic" not in problem.sentence
    return error


def changed(old: str, new: str) -> str:
    assert SMALL.count(old) == 1, old
    return SMALL.replace(old, new)


def test_the_demo_kit_reads() -> None:
    kit = read_kit(DEMO, file="kit.toml")
    assert len(kit.clubs) == 13 and kit.ball(None).name == "plover"
    assert kit.club("5-iron").grade(None).full_yd == 165
    assert kit.club("7-iron").grade("yew").short_yd == 94


def test_a_byte_order_mark_and_other_line_ends_change_nothing() -> None:
    plain = read_kit(SMALL, file="a")
    windows = b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode()
    assert read_kit(decode(windows, "a"), file="a") == plain
    assert read_kit("\ufeff" + SMALL, file="a") == plain


@pytest.mark.parametrize(
    ("text", "line", "field", "sentence"),
    [
        (
            changed('name = "driver"', 'name = "5-Iron"'),
            17,
            "clubs[5-Iron].name",
            "“5-Iron” already names another club.",
        ),
        (
            changed('name = "driver"', 'name = "5I"'),
            17,
            "clubs[5I].name",
            "“5I” already names another club.",
        ),
        (
            changed('aliases = ["5i"]', 'aliases = [\n  "5i",\n  "5I",\n]'),
            12,
            "clubs[5-iron].aliases[2]",
            "“5I” already names another club.",
        ),
        (
            changed('name = "oak"', 'name = "ash"'),
            13,
            "clubs[5-iron].grades[ash].name",
            "“ash” already names another grade of this club.",
        ),
        (
            changed('name = "tern"\n', 'name = "tern"\n[[balls]]\nname = "TERN"\n'),
            7,
            "balls[TERN].name",
            "“TERN” already names another ball.",
        ),
        (
            changed("full_yd = 168", "full_yd = 108"),
            13,
            "clubs[5-iron].grades[oak]",
            "“short_yd” (109) must be less than “full_yd” (108).",
        ),
        (
            changed("full_yd = 168", 'full_yd = "168"'),
            13,
            "clubs[5-iron].grades[oak].full_yd",
            "“full_yd” must be a number, not the text “168”.",
        ),
        (
            changed("full_yd = 168", "full_yd = true"),
            13,
            "clubs[5-iron].grades[oak].full_yd",
            "“full_yd” must be a number, not true.",
        ),
        (
            changed("full_yd = 168", "full_yd = nan"),
            13,
            "clubs[5-iron].grades[oak].full_yd",
            "“full_yd” must be a finite number, not nan.",
        ),
        (
            changed("full_yd = 168", "full_yd = 501"),
            13,
            "clubs[5-iron].grades[oak].full_yd",
            "“full_yd” must be at most 500, not 501.",
        ),
        (
            changed("full_yd = 168", "full_yd = 1979-05-27"),
            13,
            "clubs[5-iron].grades[oak].full_yd",
            "“full_yd” must be a number, not a date.",
        ),
        (
            changed("full_yd = 168, ", ""),
            13,
            "clubs[5-iron].grades[oak].full_yd",
            "“full_yd” is missing.",
        ),
        (
            changed('name = "tern"', 'name = "tern"\ncolour = "red"'),
            6,
            "balls[tern].colour",
            "“colour” is not a field here; the fields are name, wind_share and carry_gain.",
        ),
        (
            changed("short_yd = 0.9 }", "short_yd = 0.9, size = 2 }"),
            2,
            "mark.size",
            "“size” is not a field here; the fields are name, full_yd and short_yd.",
        ),
        (
            changed('family = "wood"', 'family = "woods"'),
            18,
            "clubs[driver].family",
            "“family” must be wood, hybrid, long iron, short iron or wedge, not the text “woods”.",
        ),
        (
            changed('name = "tern"', 'name = "@everyone"'),
            5,
            "balls[@everyone].name",
            "“name” must be made of letters, digits, blanks and . ' + - with a letter or digit"
            " first, not the text “@everyone”.",
        ),
        (changed('name = "tern"', 'name = ""'), 5, "balls[].name", "“name” must not be empty."),
        (
            changed('name = "tern"', f'name = "{"t" * 41}"'),
            5,
            f"balls[{'t' * 40}].name",
            "“name” must have at most 40 characters.",
        ),
        (
            changed('aliases = ["5i"]', "aliases = [7]"),
            10,
            "clubs[5-iron].aliases[1]",
            "Entry 1 in “aliases” must be text in quotation marks, not 7.",
        ),
        (
            changed('aliases = ["5i"]', "chart = [[0.5, 0.6],\n [0.4, 0.9]]"),
            10,
            "clubs[5-iron].chart",
            "Shares must rise from point to point.",
        ),
        (
            changed('aliases = ["5i"]', "chart = [[0.5, 0.6],\n [0.9]]"),
            11,
            "clubs[5-iron].chart[2][2]",
            "Entry 2 in “chart” is missing.",
        ),
        (
            changed('grades = [{ name = "ash", full_yd = 232, short_yd = 150 }]', "grades = []"),
            19,
            "clubs[driver].grades",
            "“grades” needs at least 1 entry.",
        ),
        (
            changed('[[balls]]\nname = "tern"', "balls = 3"),
            4,
            "balls",
            "“balls” must be a list in [ ], not 3.",
        ),
        (
            changed("mark = { full_yd = 1.7, short_yd = 0.9 }", 'mark = "big"'),
            2,
            "mark",
            "“mark” must be a table, not the text “big”.",
        ),
        (
            changed('name = "driver"', 'name = "ball tern"'),
            17,
            "clubs[ball tern].name",
            "The club “ball tern” could be taken for something else in a shot; rename it.",
        ),
        (
            changed('name = "oak"', 'name = "oak "'),
            13,
            "clubs[5-iron].grades[oak ].name",
            "The grade “oak ” ends in a blank.",
        ),
    ],
)
def test_one_problem(text: str, line: int, field: str, sentence: str) -> None:
    error = refused(text)
    assert [(p.line, p.field, p.sentence) for p in error.problems] == [(line, field, sentence)]
    assert error.sentence == sentence and error.field == field
    assert error.given == text.split("\n")[line - 1]
    assert str(error).startswith(f"ours.toml:{line}:{field}: {sentence} For example: ")


@pytest.mark.parametrize(
    ("text", "line", "sentence"),
    [
        ("", 1, "There is nothing in the file but blanks and comments."),
        ("\n# only\n# comments\n", 1, "There is nothing in the file but blanks and comments."),
        ('name = "a"\nname = "b"', 2, "This field already stands further up."),
        ("[mark]\n[mark]", 2, "This table already stands further up."),
        ("\nname", 2, "A field's name needs = and a value behind it."),
        ("\nname = tern", 2, "The value can't be read; text needs quotation marks."),
        ("name =", 1, "The value can't be read; text needs quotation marks."),
        ("a = [1,\n2\n", 2, "A list begun with [ is not closed with ]."),
        ("a = { b = 1\n", 1, "A table begun with { is not closed with }."),
        ("\na = 'b\n", 2, "A text is not closed with a quotation mark."),
        ('\na = "b\n', 2, "A line break or control character stands where none may."),
        ("a = 1\nb = 'c\0'", 2, "A control character stands where none may."),
        ("a = 1 b = 2", 1, "Something stands behind the end of this line's value."),
        ("[a\n", 1, "A [table] is not closed."),
        ("\n= 3", 2, "This line begins neither a field nor a [table]."),
        ("\na = " + "9" * 5000, 2, "A number has too many digits."),
        ("\na = " + "[" * 500 + "]" * 500, 2, "The brackets or dots here nest too deep."),
        ("\n\n" + ".".join("a" * 40) + " = 1", 3, "The brackets or dots here nest too deep."),
        ("x" * 10_000_000, 0, "The file has 10,000,000 bytes, where at most 1,000,000 are read."),
        ("a = [" + "1," * 60_000 + "]", 1, "The file holds more than 50,000 values."),
    ],
)
def test_texts_that_are_no_kit_at_all(text: str, line: int, sentence: str) -> None:
    error = refused(text)
    assert (error.line, error.sentence) == (line, sentence)
    assert len(error.problems) == 1 and len(error.given) <= 200


def test_all_problems_are_told_and_the_sentence_counts_them() -> None:
    text = changed("full_yd = 168", "full_yd = 'far'")
    text = text.replace('family = "wood"', 'family = "would"').replace("full_yd = 1.7, ", "")
    error = refused(text)
    assert [(problem.line, problem.field) for problem in error.problems] == [
        (2, "mark.full_yd"),
        (13, "clubs[5-iron].grades[oak].full_yd"),
        (18, "clubs[driver].family"),
    ]
    assert error.sentence == "“full_yd” is missing, and there are 2 more to put right."
    assert error.example == "mark = { full_yd = 1.6, short_yd = 0.8 }"
    assert render_problems(error, most=2) == (
        "ours.toml, line 2, mark.full_yd: “full_yd” is missing.\n"
        "ours.toml, line 13, clubs[5-iron].grades[oak].full_yd: “full_yd” must be a number, not"
        " the text “far”.\n"
        "and 1 more"
    )
    assert render_problems(error).count("\n") == 2


def test_two_problems_are_counted_in_good_english() -> None:
    error = refused(changed("full_yd = 168", "full_yd = 'far', colour = 3"))
    assert error.sentence.endswith("the text “far”, and there is 1 more to put right.")


def test_no_more_than_a_hundred_problems_are_listed() -> None:
    assert len(refused("[[clubs]]\n" * 900).problems) == MAX_PROBLEMS


BALL = 'name = "tern"'
CLUB = 'aliases = ["5i"]'
TOP = 'name = "small"'


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        (BALL, "name = 3", "name"),
        (BALL, f"{BALL}\nwind_share = 9", "wind_share"),
        (BALL, f"{BALL}\ncarry_gain = 9", "carry_gain"),
        (CLUB, "aliases = [7]", "aliases"),
        (CLUB, "chart = [[0.5]]", "chart"),
        (CLUB, "launch = 3", "launch"),
        ("full_yd = 168", "full_yd = 'far'", "grades"),
        ('family = "wood"', 'family = "would"', "family"),
        (TOP, f"{TOP}\nlimits = 3", "limits"),
        (TOP, f"{TOP}\nspin = 3", "spin"),
        (TOP, f"{TOP}\ncolour = 3", "clubs"),
        ("full_yd = 1.7, ", "", "mark"),
        ('[[balls]]\nname = "tern"', "balls = []", "balls"),
    ],
)
def test_the_example_of_an_error_is_right(old: str, new: str, field: str) -> None:
    ((name, value),) = tomllib.loads(refused(changed(old, new)).example).items()
    assert name == field
    data = tomllib.loads(SMALL)
    if name in ("wind_share", "carry_gain"):
        data["balls"][0][name] = value
    elif name in ("limits", "spin", "mark", "balls", "clubs"):
        data[name] = value
    else:
        data["clubs"][0][name] = value
    Kit.model_validate(data)


@pytest.mark.parametrize(
    ("data", "line", "sentence"),
    [
        (b"a = 1\nb = '\xff'", 2, "Byte 12 of the file is not UTF-8 text; save it as UTF-8."),
        ("a = 1".encode("utf-16"), 1, "Byte 1 of the file is not UTF-8 text; save it as UTF-8."),
        (
            b"#" * (MAX_BYTES + 1),
            0,
            "The file has 1,000,001 bytes, where at most 1,000,000 are read.",
        ),
    ],
)
def test_bytes_that_are_no_text(data: bytes, line: int, sentence: str) -> None:
    with pytest.raises(FileProblemsError) as caught:
        decode(data, "ours.toml")
    error = caught.value
    assert (error.file, error.line, error.sentence) == ("ours.toml", line, sentence)


def test_read_toml_serves_any_model() -> None:
    class Cup(Model):
        title: str
        rounds: int

    assert read_toml("title = 'May'\nrounds = 3", file="cup", model=Cup).rounds == 3
    with pytest.raises(FileProblemsError) as caught:
        read_toml("title = 'May'\nrounds = 3.5", file="cup", model=Cup, examples={"": "rounds = 3"})
    assert str(caught.value) == (
        "cup:2:rounds: “rounds” must be a whole number, not 3.5. For example: rounds = 3"
    )


@given(text=st.text(max_size=80) | st.text("ab=[]{}.,'\"\\\n# 1", max_size=80))
@settings(max_examples=500, deadline=None)
def test_any_text_is_a_kit_or_is_refused(text: str) -> None:
    refused(text)  # none of these can hold all that a kit needs
