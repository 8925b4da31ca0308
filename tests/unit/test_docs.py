"""The documents say what is: every command, setting and example in them runs, and the house rules
that a program can count are kept."""

import ast
import os
import re
import shlex
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, get_args

import discord
import pytest
from discord import app_commands
from pydantic import BaseModel

from bot import settings
from bot.app import cogs, make_bot
from bot.services.book.toml_in import read_event
from bot.services.caddie.caddie import Caddie
from bot.settings import Settings
from bot.wiring import open_services
from shared.bag import Bag
from shared.book import Event
from shared.kit import Ball, Kit, Limits, SpinScale, Surface
from shared.kit_file import read_kit
from shared.shot_text import parse
from tests.kits import demo_caddie, demo_kit
from tests.unit.terminal import Leeward, leeward, no_settings_from_outside

__all__ = ["leeward", "no_settings_from_outside"]

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("shared", "engine", "storage", "bot")
MOST_LINES, MOST_FUNCTION_LINES = 400, 50

README = (ROOT / "README.md").read_text(encoding="utf-8")
DOCS = README + (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
CODE = re.compile(r"(?<!`)`([^`\n]+)`(?!`)")


def shell_lines(text: str) -> list[str]:
    """The commands in a document's shell blocks."""
    return [
        line
        for language, block in BLOCK.findall(text)
        if language == "sh"
        for line in block.splitlines()
        if line.strip()
    ]


def command_starting(what: str) -> str:
    """The README's first command after the paragraph that starts so."""
    return shell_lines(README[README.index(f"**{what}**") :])[0]


# Commands


def test_the_job_comes_first_and_the_two_commands_right_below_it() -> None:
    title, job, attempt = README.split("\n\n")[:3]
    assert title == "# Leeward" and attempt.startswith("**Try it**")
    for part in ("coach", "nine-hole cups", "line that can be holed", "closes this gap"):
        assert part in job


def test_ci_runs_the_readmes_test_command_and_nothing_else() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    commands = [line for line in script if line and not line.startswith(("#", "set ", "cd "))]
    assert commands == [command_starting("Test it")]
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


@pytest.mark.parametrize(
    ("what", "extra", "module"), [("Try it", "try", "bot try"), ("Test it", "test", "tests")]
)
def test_each_is_one_line_that_makes_its_own_venv_and_installs_its_extra(
    what: str, extra: str, module: str
) -> None:
    line = command_starting(what)
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert extra in project["optional-dependencies"]
    assert line == (
        "[ -d .venv ] || python3 -m venv --without-pip .venv; "
        f"python3 -m pip --python .venv install -q -e '.[{extra}]' "
        f"&& .venv/bin/python -m {module}"
    )
    assert (ROOT / module.split()[0] / "__main__.py").exists()


def asked_lines() -> list[str]:
    """Every ``ask`` in a shell block of the documents."""
    return [line for line in shell_lines(DOCS) if " -m bot ask " in line]


def test_every_ask_in_the_documents_runs(leeward: Leeward) -> None:
    assert asked_lines()
    for line in asked_lines():
        words = shlex.split(line)
        status, out, err = leeward(*words[words.index("bot") + 1 :])
        assert (status, err) == (0, "") and out, line


def test_the_answer_shown_in_the_readme_is_todays(leeward: Leeward) -> None:
    line = next(line for line in asked_lines() if line in README)
    after = README[README.index(line) :]
    shown = BLOCK.findall(after[after.index("```\n") + 4 :])[0][1]
    words = shlex.split(line)
    _, out, _ = leeward(*words[words.index("bot") + 1 :])
    assert len(shown.splitlines()) >= 3 and out.startswith(shown)


def test_every_other_command_in_the_documents_is_one_the_program_has(leeward: Leeward) -> None:
    lines = [line for line in shell_lines(DOCS) if " -m bot " in line]
    for line in set(lines) - set(asked_lines()):
        command = line.split(" -m bot ")[1].split()[0]
        status, out, _ = leeward(command, "--help")
        assert status == 0 and f"python -m bot {command}" in out, line


def test_run_in_the_readme_asks_for_the_token_it_names(leeward: Leeward) -> None:
    line = next(line for line in shell_lines(README) if line.endswith("-m bot run"))
    assert line.startswith("DISCORD_TOKEN=")
    status, _, err = leeward("run")
    assert status == 2 and err.startswith("DISCORD_TOKEN is not set")


def test_every_option_of_the_command_line_in_the_readme_exists(leeward: Leeward) -> None:
    out = "".join(leeward(command, "--help")[1] for command in ("ask", "load", "purge"))
    options = {code.split()[0] for code in CODE.findall(README) if code.startswith("--")}
    assert options == {"--json", "--units", "--kit", "--keep", "--replace", "--yes"}
    assert all(option in out for option in options)


# The files


def toml_after(heading: str) -> str:
    """The TOML block under a heading of the README."""
    after = README[README.index(f"### {heading}\n") :]
    return next(block for language, block in BLOCK.findall(after) if language == "toml")


def every_field(model: type[BaseModel]) -> set[tuple[str, str]]:
    """The fields of a model and of all models inside it, as (model, field)."""
    found: set[tuple[str, str]] = set()
    for name, field in model.model_fields.items():
        found.add((model.__name__, name))
        for inner in models_in(field.annotation):
            found |= every_field(inner)
    return found


def models_in(annotation: Any) -> set[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {annotation}
    return {each for part in get_args(annotation) for each in models_in(part)}


def fields_written(model: BaseModel) -> set[tuple[str, str]]:
    """The fields that a file has set, of a model and of all inside it."""
    found: set[tuple[str, str]] = set()
    for name in model.model_fields_set:
        found.add((type(model).__name__, name))
        value = getattr(model, name)
        for inner in value if isinstance(value, tuple) else (value,):
            if isinstance(inner, BaseModel):
                found |= fields_written(inner)
    return found


def test_the_readmes_game_loads_has_every_field_and_shows_each_default() -> None:
    kit = read_kit(toml_after("A game's file"), file="game.toml")
    assert fields_written(kit) == every_field(Kit)
    assert kit.limits == Limits() and kit.spin == SpinScale()
    assert kit.balls[0] == Ball(name="plover") and kit.surfaces[0] == Surface(kind="green")
    assert kit.club("8-iron").chart and kit.club("driver").charts
    for shot in ("8 into, driver, 220", "8 helping, 8-iron, 120", "7 off the left, 5i, 160"):
        assert Caddie(kit).answer(shot=parse(shot, kit=kit), bag=Bag()).plays_yd > 0


def test_the_readmes_cup_loads_with_its_game_and_has_every_field() -> None:
    kit = read_kit(toml_after("A game's file"), file="game.toml")
    event = read_event(toml_after("A cup's file"), file="cup.toml", kit=kit)
    assert fields_written(event) == every_field(Event)


# Settings


class Watched(Mapping[str, str]):
    """An environment that remembers what was asked of it."""

    def __init__(self) -> None:
        self.asked: set[str] = set()

    def __getitem__(self, name: str) -> str:
        self.asked.add(name)
        raise KeyError(name)

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 0


def test_every_setting_is_documented_and_every_documented_one_is_read() -> None:
    watched = Watched()
    settings.settings_from(watched)
    rows = re.findall(r"^\| `([A-Z_]+)` \|", README, re.MULTILINE)
    assert set(rows) == watched.asked == {"DISCORD_TOKEN", *settings.VARIABLES.values()}
    assert {"LEEWARD_DATABASE", "LEEWARD_KIT", "LEEWARD_BACKUPS"} < watched.asked


def test_the_files_the_readme_names_exist() -> None:
    named = [code for code in CODE.findall(DOCS) if re.fullmatch(r"[\w./]+\.(toml|py|md)", code)]
    assert "bot/demo/kit.toml" in named
    missing = [name for name in named if "/" in name and not (ROOT / name).exists()]
    assert missing == []


# The chat's commands and examples

Tree = dict[str, app_commands.Command[Any, ..., Any]]


@pytest.fixture
async def tree(tmp_path: Path) -> Tree:
    """Every slash command of the bot by its whole name."""
    own = Settings(database=f"sqlite:///{tmp_path / 'docs.sqlite3'}")
    bot = make_bot(own)
    services = await open_services(own)
    try:
        for cog in cogs(services, bot, bot.router):
            await bot.add_cog(cog)
        commands = list(bot.tree.walk_commands(type=discord.AppCommandType.chat_input))
    finally:
        await services.db.close()
    return {
        command.qualified_name: command
        for command in commands
        if isinstance(command, app_commands.Command)
    }


def test_every_slash_command_is_in_the_documents(tree: Tree) -> None:
    documented = {word for code in CODE.findall(DOCS) for word in re.findall(r"/([\w-]+)", code)}
    missing = {name.split()[0] for name in tree} - documented
    assert missing == set()


def test_every_slash_command_in_the_documents_exists_with_its_options(tree: Tree) -> None:
    roots = {name.split()[0] for name in tree}
    for code in CODE.findall(DOCS):
        if not re.match(r"/[a-z]", code):
            continue
        words = re.split(r" ?\b\w+:", code)[0].removeprefix("/").split()
        assert words[0] in roots, code
        if len(words) > 1:
            assert " ".join(words) in tree, code
        options = re.findall(r"\b(\w+):", code)
        if options:
            known = {parameter.display_name for parameter in tree[" ".join(words)].parameters}
            assert set(options) <= known, code


def test_every_wind_question_in_the_documents_has_an_answer() -> None:
    questions = re.findall(r"`/wind question:([^`]+)`", DOCS)
    questions += re.findall(r'-m bot ask "([^"]+)"', DOCS)
    assert questions
    for question in questions:
        assert demo_caddie().answer(shot=parse(question, kit=demo_kit()), bag=Bag()).plays_yd > 0


def test_every_piece_of_a_question_in_the_readme_can_be_read() -> None:
    section = README[README.index("Wind, club and distance come in any order") :]
    paragraph = section.split("\n\n")[0]
    pieces = [code for code in CODE.findall(paragraph) if code not in ("metric",)]
    assert len(pieces) >= 10
    for piece in pieces:
        whole = piece if piece[0].isdigit() or piece == "calm" else f"8 into, 7-iron, 120, {piece}"
        assert parse(whole, kit=demo_kit()), piece


# House rules


def python_files(*rooms: str) -> list[Path]:
    return sorted(path for room in rooms for path in (ROOT / room).rglob("*.py"))


def test_no_file_and_no_function_is_too_long() -> None:
    long: list[str] = []
    for path in python_files(*ROOMS, "tests"):
        text, name = path.read_text(encoding="utf-8"), path.relative_to(ROOT)
        if len(text.splitlines()) >= MOST_LINES:
            long.append(f"{name}: {len(text.splitlines())} lines")
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                lines = (node.end_lineno or node.lineno) - node.lineno + 1
                if lines >= MOST_FUNCTION_LINES:
                    long.append(f"{name}: {node.name} has {lines} lines")
    assert long == []


def test_engine_and_shared_print_nothing_and_touch_no_file() -> None:
    banned_calls = {"print", "open", "input", "exec", "eval", "breakpoint"}
    banned_modules = {"logging", "asyncio", "os", "io", "socket", "subprocess", "pathlib", "sys"}
    found: list[str] = []
    for path in python_files("engine", "shared"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            name = path.relative_to(ROOT)
            called = node.func if isinstance(node, ast.Call) else None
            if isinstance(called, ast.Name) and called.id in banned_calls:
                found.append(f"{name}:{called.lineno} {called.id}")
            modules: list[str] = []
            if isinstance(node, ast.Import):
                modules = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                modules = [node.module or ""]
            found += [
                f"{name} imports {module}"
                for module in modules
                if module.split(".")[0] in banned_modules
            ]
    assert found == []


def test_no_room_keeps_a_global_that_changes() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in python_files(*ROOMS)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Global)
    ]
    assert found == []
