"""Which tests of the chat run on one database alone, and that none of what they ask is left out."""

import ast
from pathlib import Path

HERE = Path(__file__).parent
COMMANDS = HERE.parent / "unit" / "commands.txt"


def names() -> set[str]:
    """Every command, groups with what is in them."""
    lines = COMMANDS.read_text(encoding="utf-8").splitlines()
    return {line[1:].partition(":")[0] for line in lines if line.startswith("/")}


def test_what_runs_on_sqlite_alone_asks_nothing_that_is_not_asked_on_postgresql() -> None:
    asked: dict[bool, set[str]] = {True: set(), False: set()}
    alone: dict[str, str] = {}
    for path in HERE.glob("test_*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        texts = {each.value for each in ast.walk(tree) if isinstance(each, ast.Constant)}
        for node in tree.body:
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "ONE_DATABASE":
                alone[path.name] = ast.literal_eval(node.value)
        asked[path.name in alone] |= {text for text in texts if isinstance(text, str)}
    assert sorted(alone) == ["test_draw.py", "test_learning.py", "test_longest_answers.py"]
    assert all(len(why.split()) > 5 for why in alone.values())
    known = names()
    assert len(known) > 40
    assert known & asked[True] <= asked[False]
