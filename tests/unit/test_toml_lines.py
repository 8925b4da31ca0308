"""Where the fields of a TOML text stand, and how deep its brackets nest."""

import re
import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from shared.toml_lines import MAX_DEPTH, Lines, too_deep_at
from tests.unit.test_kit_file import DEMO


def leaves(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    if isinstance(value, dict):
        return [leaf for key, inner in value.items() for leaf in leaves(inner, (*path, key))]
    if isinstance(value, list) and value:
        return [leaf for at, inner in enumerate(value) for leaf in leaves(inner, (*path, at))]
    return [path]


TRICKY = """\
# [not.a.table] x = 1
a = "]} # no comment"  # [[x]]
b.c = '''
d = 5 ]
'''
"q.r"."s\\"t" = [ # list
  [1, 2], { u = 3, v.w = [
  4 ] },

  "end",
]
[t]
x = \"\"\"a \\\"\"\" [t.y]
z = 1\"\"\"
[t.y]
z = 07:32:00
[[n]]
[[n.m]]
o = 1
[[n.m]]
o = 2
[n.p]
o = 3
[[n]]
[[n.m]]
o = 4
"""


def test_lines_of_tricky_toml() -> None:
    lines = Lines(TRICKY)
    expected = {
        ("a",): 2,
        ("b",): 3,
        ("b", "c"): 3,
        ("q.r", 's"t'): 6,
        ("q.r", 's"t', 0, 1): 7,
        ("q.r", 's"t', 1, "u"): 7,
        ("q.r", 's"t', 1, "v", "w", 0): 8,
        ("q.r", 's"t', 2): 10,
        ("t",): 12,
        ("t", "x"): 13,
        ("t", "y"): 15,
        ("t", "y", "z"): 16,
        ("n", 0): 17,
        ("n", 0, "m", 0, "o"): 19,
        ("n", 0, "m", 1): 20,
        ("n", 0, "m", 1, "o"): 21,
        ("n", 0, "p", "o"): 23,
        ("n", 1): 24,
        ("n", 1, "m", 0, "o"): 26,
        ("n", 1, "m", 0, "missing"): 25,
        ("missing",): 1,
    }
    assert {path: lines.line(path) for path in expected} == expected
    assert set(leaves(tomllib.loads(TRICKY))) <= {*expected, ("q.r", 's"t', 0, 0)}


def test_every_field_of_the_demo_stands_on_the_line_named() -> None:
    lines, rows = Lines(DEMO), DEMO.split("\n")
    paths = leaves(tomllib.loads(DEMO))
    assert len(paths) > 150
    last = 0
    for path in paths:
        key = next(key for key in reversed(path) if isinstance(key, str))
        assert re.search(rf"\b{key}\s*=", rows[lines.line(path) - 1]), path
        assert lines.line(path) >= last  # the demo is written in the order it is read
        last = lines.line(path)


@given(text=st.text("ab=[]{}.,'\"\\\n# 1", max_size=60))
@settings(max_examples=1000, deadline=None)
def test_the_locator_knows_every_field_of_any_small_toml(text: str) -> None:
    try:
        data = tomllib.loads(text)
    except ValueError:
        return
    lines = Lines(text)
    for path in leaves(data):
        if path:
            assert 1 <= lines.line(path) <= text.count("\n") + 1
            assert lines.line((*path, "inside")) == lines.line(path)


@given(data=st.recursive(st.integers(0, 9) | st.text("a'\"\\]}#\n", max_size=4), st.lists))
@settings(max_examples=200, deadline=None)
def test_brackets_in_strings_and_comments_do_not_count_as_depth(data: object) -> None:
    text = f"a = {toml(data)} # {'[' * 50}\nb = '{'{' * 50}'\n"
    assert tomllib.loads(text)["a"] == data
    assert (too_deep_at(text) == 1) == (depth(data) > MAX_DEPTH)


def toml(value: object) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(toml, value))}]"
    if isinstance(value, str):
        escapes = {"\\": "\\\\", '"': '\\"', "\n": "\\n"}
        return '"' + "".join(escapes.get(letter, letter) for letter in value) + '"'
    return str(value)


def depth(value: object) -> int:
    return 1 + max(map(depth, value), default=0) if isinstance(value, list) else 0
