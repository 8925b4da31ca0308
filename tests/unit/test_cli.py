"""The command line: ask, for people and for programs, and what it says to wrong commands."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from bot.cli import practice
from shared.shot_text import parse
from tests.kits import DEMO_KIT, demo_caddie, demo_kit
from tests.unit.terminal import Leeward, assert_one_line, leeward, no_settings_from_outside

__all__ = ["leeward", "no_settings_from_outside"]

ROOT = Path(__file__).resolve().parents[2]
QUESTION = "8.4 mph from 2, 5-iron, 165"

BAD_QUESTIONS = (
    ("", "nothing in the text"),
    (" \n\t ", "nothing in the text"),
    ("165", "also needs a wind and a club"),
    ("-3 into, 5-iron, 165", "negative"),
    ("-3", "negative"),
    ("400 mph into, 5-iron, 165", "stronger than any"),
    ("NaN into, 5-iron, 165", "“NaN” is not a number"),
    ("inf mph into, 5-iron, 165", "“inf” is not a number"),
    ("1e309 into, 5-iron, 165", "“1e309” is not a number"),
    ("8 into, " * 6250, "50,000 characters"),
    ("8 into, 2-iron, 165", "no club “2-iron”"),
    ("8 into, 5-iron, 50", "carries 107 yd at least"),
    ("calm, 5-iron, 192", "the hybrid (ash) or 5-wood (ash) would reach"),
    ("8 into, 7 helping, 5-iron, 150", "two winds"),
    ("8 into, 5-iron, 7-iron, 140", "two clubs"),
    ("🏌️🏌️🏌️", "was not understood"),
    ("@everyone", "mention"),
    ("**8** _into_ `5-iron`", "also needs a distance"),
    ("שלום 8 into, 5-iron, 150", "“שלום” was not understood"),
    ("8 into\x1b[31m, 5-iron, 150", "can't be read"),
    ("8 into, 5-iron,\r\n150, up", "up"),
)


# ask


def test_ask_prints_what_to_do_first_and_the_same_answer_as_the_engine(leeward: Leeward) -> None:
    status, out, err = leeward("ask", QUESTION)
    answer = demo_caddie().answer(shot=parse(QUESTION, kit=demo_kit()))
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == (
        f"5-iron · set up {answer.plays_yd:.0f} yd (full +{answer.setup_yd:.0f}) · "
        f"aim {answer.allowance.right_marks:.1f} marks right, "
        f"{answer.allowance.long_marks:.1f} long"
    )
    assert lines[1] == "8.4 mph from 2, 5-iron, 165 yd (ash, plover ball)"
    starts = ("Plays ", "Drift ", "1 mph more ", "10° clockwise ", "Margin ")
    assert [line for line in lines[2:] if line.startswith(starts)] == lines[2:7]
    assert out.count("4.3a") == 1 and max(len(line) for line in lines) <= 80


def test_json_has_every_promised_key_with_the_engines_values(leeward: Leeward) -> None:
    status, out, err = leeward("ask", "9 mph from 10, 7-iron oak, 118, up 4%, tern", "--json")
    found: dict[str, Any] = json.loads(out)
    assert (status, err) == (0, "")
    answer = demo_caddie().answer(
        shot=parse("9 mph from 10, 7-iron oak, 118, up 4%, tern", kit=demo_kit())
    )
    right, long = answer.allowance.right_yd, answer.allowance.long_yd
    assert right < -3 < 0 < long
    assert found["allowance"] == {
        "right_yd": right,
        "long_yd": long,
        "right_marks": answer.allowance.right_marks,
        "long_marks": answer.allowance.long_marks,
    }
    assert found["plays_yd"] == answer.plays_yd > 118
    assert found["share"] == pytest.approx(118 / 143, abs=1e-3)
    assert (found["law"], found["kit"]) == ("flight", "Leeward demo")
    assert answer.flight is not None
    assert found["flight"] == {
        "time_s": answer.flight.time_s,
        "apex_yd": answer.flight.apex_yd,
        "landing_deg": answer.flight.landing_deg,
        "drift_right_yd": -right,
        "drift_long_yd": -long,
    }
    for change in ("per_mph", "per_10_deg"):
        assert found["if_wind"][change] == getattr(answer.if_wind, change).model_dump()
        assert found["if_wind"][change].keys() == {"right_yd", "long_yd"}
    assert found["if_wind"]["per_mph"]["right_yd"] < 0
    assert found["margin_yd"] == answer.margin_yd > 0
    numbers = [*found["allowance"].values(), *found["flight"].values(), found["margin_yd"]]
    assert all(type(number) is float for number in numbers)


def test_units_are_those_asked_for(leeward: Leeward) -> None:
    _, metric, _ = leeward("ask", "4 from 2, 5-iron, 150", "--units", "metric")
    _, yards, _ = leeward("ask", "4 m/s from 2, 5-iron, 150 m")
    assert "4 m/s from 2, 5-iron, 150 m" in metric and " yd" not in metric
    same = demo_caddie().answer(shot=parse("4 m/s from 2, 5-iron, 150 m", kit=demo_kit()))
    assert f"Plays         {same.plays_yd * 0.9144:.0f} m for 150 m" in metric
    assert f"Plays         {same.plays_yd:.0f} yd for 164 yd" in yards
    status, _, err = leeward("ask", "calm, 5-iron, 180", "--units", "metric")
    assert status == 2 and "169 m at most and the target is 180 m away" in err
    assert_one_line(err)


def test_a_kit_file_answers_for_itself(leeward: Leeward, tmp_path: Path) -> None:
    kit = tmp_path / "own.toml"
    text = DEMO_KIT.read_text(encoding="utf-8").replace("Leeward demo", "Own")
    kit.write_text(text.replace("full_yd = 1.6 ", "full_yd = 3.2 "), encoding="utf-8")
    _, own, _ = leeward("ask", QUESTION, "--json", "--kit", str(kit))
    _, demo, _ = leeward("ask", QUESTION, "--json")
    assert json.loads(own)["kit"] == "Own"
    half = (
        json.loads(own)["allowance"]["right_marks"] / json.loads(demo)["allowance"]["right_marks"]
    )
    assert half == pytest.approx(0.5, abs=1e-3)


def test_the_kit_of_the_setting_is_used(
    leeward: Leeward, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kit = tmp_path / "set.toml"
    text = DEMO_KIT.read_text(encoding="utf-8").replace("Leeward demo", "Set")
    kit.write_text(text, encoding="utf-8")
    monkeypatch.setenv("LEEWARD_KIT", str(kit))
    assert json.loads(leeward("ask", QUESTION, "--json")[1])["kit"] == "Set"
    assert json.loads(leeward("ask", QUESTION, "--json", "--kit", str(DEMO_KIT))[1])["kit"] == (
        "Leeward demo"
    )


@pytest.mark.parametrize(
    ("question", "said"), BAD_QUESTIONS, ids=[t[:20] for t, _ in BAD_QUESTIONS]
)
@pytest.mark.parametrize("flags", [(), ("--json",)], ids=["text", "json"])
def test_a_bad_question_is_one_line_and_status_2(
    leeward: Leeward, question: str, said: str, flags: tuple[str, ...]
) -> None:
    status, out, err = leeward("ask", question, *flags)
    assert (status, out) == (2, "")
    assert_one_line(err)
    assert said in err
    example = err.rstrip("\n").split(" For example: ")[1]
    assert leeward("ask", example)[0] == 0


BAD_KITS: tuple[tuple[str, Callable[[str], bytes], str], ...] = (
    (
        "a duplicate club",
        lambda demo: demo.replace('name = "6-iron"', 'name = "5-iron"').encode(),
        "line 89, clubs[5-iron].name: “5-iron” already names another club",
    ),
    (
        "a reversed range",
        lambda demo: demo.replace(
            "full_yd = 153, short_yd = 99", "full_yd = 99, short_yd = 153"
        ).encode(),
        "line 93, clubs[6-iron].grades[ash]: “short_yd” (153) must be less than “full_yd” (99)",
    ),
    ("nothing", lambda _: b"", "there is nothing in the file"),
    ("comments", lambda _: b"# a kit\n# to come\n", "there is nothing in the file"),
    ("10 MB", lambda demo: (demo + "# more\n" * 1_500_000).encode(), "more than 1,000,000 bytes"),
    ("no TOML", lambda _: b"clubs = [", "line 1"),
    ("another encoding", lambda demo: demo.replace("demo", "démo").encode("latin-1"), "UTF-8"),
    ("a picture", lambda _: b"\x89PNG\r\n\x1a\n\x00\x00", "UTF-8"),
)


@pytest.mark.parametrize(("what", "made", "said"), BAD_KITS, ids=[kit[0] for kit in BAD_KITS])
def test_a_bad_kit_is_one_line_that_names_file_line_and_field(
    leeward: Leeward, tmp_path: Path, what: str, made: Callable[[str], bytes], said: str
) -> None:
    kit = tmp_path / "mine.toml"
    kit.write_bytes(made(DEMO_KIT.read_text(encoding="utf-8")))
    status, out, err = leeward("ask", QUESTION, "--kit", str(kit))
    assert (status, out) == (2, "")
    assert_one_line(err)
    assert err.startswith("mine.toml") and said in err, (what, err)


@pytest.mark.parametrize("path", ["nowhere.toml", "."])
def test_a_kit_that_is_not_there_is_named(leeward: Leeward, path: str) -> None:
    status, _, err = leeward("ask", QUESTION, "--kit", path)
    assert status == 2 and err.startswith(f"{path} can't be read: ")
    assert_one_line(err)


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("ask",),
        ("aks", QUESTION),
        ("ask", QUESTION, "--units", "furlongs"),
        ("try", "--port", "x"),
    ],
)
def test_a_wrong_command_is_one_line_with_a_right_one(
    leeward: Leeward, arguments: tuple[str, ...]
) -> None:
    status, out, err = leeward(*arguments)
    assert (status, out) == (2, "")
    assert_one_line(err)
    assert f'python -m bot ask "{QUESTION}"' in err


def test_asked_from_a_shell_it_leaves_with_the_same_status() -> None:
    def shell(*arguments: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "bot", "ask", *arguments]
        return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)

    bad = shell("8 into, 5-iron, 999")
    assert (bad.returncode, bad.stdout) == (2, "")
    assert_one_line(bad.stderr)
    right = shell(QUESTION, "--json")
    assert (right.returncode, right.stderr) == (0, "")
    assert json.loads(right.stdout)["club"] == "5-iron"


# try


def test_try_without_the_simulation_says_how_to_install_it(
    leeward: Leeward, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "bot.practice_ground.simulated", None)
    monkeypatch.delattr("bot.practice_ground.simulated", raising=False)
    status, out, err = leeward("try")
    assert (status, out) == (2, "")
    assert_one_line(err)
    assert "pip install -e '.[try]'" in err


def test_the_welcome_of_the_practice_ground_names_what_works_in_its_kit() -> None:
    text = practice.welcome(demo_kit())
    assert QUESTION in text and "Enter takes it, a second Enter sends it" in text
    rooms = practice.world(demo_kit()).rooms
    assert [room.welcome for room in rooms] == [text, ""]
