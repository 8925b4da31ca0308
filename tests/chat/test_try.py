"""``python -m bot try``, started as a newcomer starts it and used on a phone's screen."""

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from shared.shot_text import parse
from tests.chat.page_driver import PHONE, PageDriver, in_browser, needs_chromium
from tests.kits import demo_caddie, demo_kit

ROOT = Path(__file__).resolve().parents[2]
START_S, END_S = 60, 30


def free_port(rooms: int = 3) -> int:
    """A port that is free together with the few after it."""
    for _ in range(50):
        with socket.socket() as first:
            first.bind(("127.0.0.1", 0))
            port = first.getsockname()[1]
        try:
            for number in range(port, port + rooms):
                with socket.socket() as each:
                    each.bind(("127.0.0.1", number))
        except OSError:
            continue
        return port
    raise AssertionError("no free ports")


class Opened:
    """A practice ground in its own process, and what it announced."""

    def __init__(self, process: "subprocess.Popen[str]", port: int) -> None:
        self.process = process
        self.port = port
        self.lines: list[str] = []
        assert process.stdout is not None
        for line in process.stdout:
            self.lines.append(line.rstrip("\n"))
            if "Viewing as" in line:
                return
        raise AssertionError((self.lines, process.stderr and process.stderr.read()))

    def url(self, room: str) -> str:
        return next(line.split(": ")[1] for line in self.lines if f"#{room}: " in line)

    def end(self) -> tuple[str, str]:
        self.process.send_signal(signal.SIGTERM)
        return self.process.communicate(timeout=END_S)


@pytest.fixture
def ground(tmp_path: Path) -> Iterator[Opened]:
    port = free_port()
    environment = {
        name: value
        for name, value in os.environ.items()
        if name not in ("DISCORD_TOKEN", "LEEWARD_DATABASE", "LEEWARD_KIT")
    }
    with subprocess.Popen(
        [sys.executable, "-m", "bot", "try", "--port", str(port)],
        cwd=ROOT,
        env={**environment, "PYTHONUNBUFFERED": "1", "XDG_DATA_HOME": str(tmp_path)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        try:
            yield Opened(process, port)
        finally:
            process.kill()


def test_it_prints_a_local_address_serves_it_and_ends_cleanly(ground: Opened) -> None:
    assert ground.lines[0] == "The practice ground is open. Ctrl-C closes it."
    address = ground.url("wind-questions")
    assert address.startswith(f"http://127.0.0.1:{ground.port}/")
    with urllib.request.urlopen(address.split("#")[0], timeout=START_S) as page:
        assert page.status == 200 and b"<html" in page.read(20_000).lower()
    said, complaints = ground.end()
    assert ground.process.returncode == 0
    assert said.splitlines() == [
        "The practice ground is closed.",
        "What you did is kept; python -m bot try --fresh begins anew.",
    ]
    assert "Traceback" not in complaints


async def as_the_welcome_says(phone: PageDriver) -> tuple[str, str]:
    """Do what the first message says; the suggestion taken and the message it sent."""
    welcome = "\n".join(await phone.messages())
    question = re.search(r"type into question:\n(.+)\n", welcome)
    assert "Welcome to the practice ground" in welcome and question, welcome
    assert "Enter takes it, a second Enter sends it" in welcome
    shown = await phone.type_command("wind", question=question[1])
    field = phone.page.locator('.command-option-input[data-option="question"]')
    await field.press("Enter")
    await phone.at_rest()
    before = len(await phone.messages())
    await field.press("Enter")
    await phone.page.wait_for_function(
        "(count) => document.querySelectorAll('#channel-message-list > *').length > count",
        arg=before,
    )
    return shown[0], await phone.last_message()


@needs_chromium
async def test_a_newcomer_on_a_phone_gets_an_answer_by_the_welcomes_own_words(
    ground: Opened,
) -> None:
    answer = demo_caddie().answer(shot=parse("8.4 mph from 2, 5-iron, 165", kit=demo_kit()))
    async with in_browser(PHONE) as (phone,):
        await phone.open(ground.url("wind-questions"))
        shown, sent = await as_the_welcome_says(phone)
        found = re.match(r"Aim ([\d.]+) marks right, ([\d.]+) long", shown)
        assert found and f"aim {found[1]} marks right, {found[2]} long" in sent
        # The invented season has taught that this game's wind does more than the computed law.
        assert 1.03 < float(found[1]) / answer.allowance.right_marks < 1.3
        assert "Rosalind used /wind" in sent and "Only you can see this" not in sent
        sorry = await phone.run_command("wind", question="8 into, 2-iron, 165")
        assert "Only you can see this" in sorry and "8 into, 2-iron, 165" in sorry
        assert "Your bag" in await phone.run_command("bag", grade="oak")
        own = await phone.type_command("wind", question="8.4 mph from 2, 5-iron, 165")
        assert own[0].endswith("5-iron (oak)")
        assert await phone.sideways_px() <= 0
        assert phone.errors == []
    _, complaints = ground.end()
    assert ground.process.returncode == 0 and "Traceback" not in complaints


@needs_chromium
async def test_another_wind_is_two_touches_on_a_phone_and_the_menus_follow(ground: Opened) -> None:
    async with in_browser(PHONE) as (phone,):
        await phone.open(ground.url("wind-questions"))
        await phone.run_command("me division", division="Sail")
        await phone.run_command("wind", question="8.4 mph from 2, 5-iron, 160")
        assert "12 mph from 2 · 160 yd" in await phone.pick("8.4 mph", "12 mph")
        shown = await phone.pick("from 2", "from 10")
        assert "12 mph from 10 · 160 yd" in shown and shown.endswith(
            "12 mph\nfrom 10\nWhy\nPicture"
        )
        opened = await phone.run_command("round")
        assert "8 mph from 1 · 228 yd" in opened and "8 mph\nfrom 1\n" in opened
        second = await phone.press("2 →")  # the same message, with its own hole's wind
        assert "9 mph from 3" in second and "9 mph\nfrom 3, off the right\n" in second
        assert await phone.sideways_px() <= 0 and phone.errors == []
    ground.end()
