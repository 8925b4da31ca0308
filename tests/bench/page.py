"""How soon a member with a phone sees what they asked for, measured from the browser's page.

Run as ``python -m tests.bench.page``; it takes about a minute. The practice ground runs in a
process of its own, the browser's window is 390 by 844 pixels, and each figure is a median: from the
key to the suggestion that is the answer, from the send button to the answer on the page, and from a
press in /round to the next hole's line, moved to the member's wind and bag. Beside them stands
/help, whose answer costs nothing: the way through the page and the simulated Discord alone.
"""

import asyncio
import os
import re
import subprocess
import sys
import time
from collections.abc import Awaitable, Callable
from statistics import median

from playwright.async_api import Error

from tests.chat.page_driver import CHROMIUM, PHONE, PageDriver, in_browser
from tests.chat.test_try import ROOT, free_port

TIMES = 12
FIRST_IS_AN_ANSWER = """() => {
  const first = document.querySelector(".command-suggestion-label");
  return Boolean(first && first.innerText.startsWith("Aim "));
}"""


async def seconds_of(work: Callable[[], Awaitable[object]]) -> float:
    """How long ``work`` takes."""
    began = time.perf_counter()
    await work()
    return time.perf_counter() - began


async def key_to_suggestion(phone: PageDriver) -> list[float]:
    """The last digit of questions nobody asked before, until the first suggestion is the answer."""
    found: list[float] = []
    await phone.type_command("wind", question="8")
    field = phone.page.locator('.command-option-input[data-option="question"]')

    async def typed() -> None:
        await field.press("5")
        await phone.page.wait_for_function(FIRST_IS_AN_ANSWER)

    for number in range(TIMES):
        await field.fill(f"{6 + number / 10} mph from 2, 5-iron, 1{number % 3 + 4}")
        await phone.page.wait_for_function(f"() => !({FIRST_IS_AN_ANSWER})()")
        await phone.at_rest()
        found.append(await seconds_of(typed))
    return found


async def send_to_answer(
    phone: PageDriver, command: str, options: Callable[[int], dict[str, str]]
) -> list[float]:
    """From the send button to the answer on the page."""
    found: list[float] = []
    for number in range(TIMES):
        await phone.type_command(command, **options(number))
        found.append(await seconds_of(phone.send))
    return found


async def press_to_line(phone: PageDriver) -> list[float]:
    """From a press on the next hole or the one before to its line."""
    found: list[float] = []
    await phone.run_command("me division", division="Sail")
    await phone.run_command("round")
    for number in range(TIMES):
        label = "← 1" if number % 2 else "2 →"
        found.append(await seconds_of(lambda label=label: phone.press(label)))
    return found


async def measured(url: str) -> dict[str, list[float]]:
    """All of it, on one page."""
    async with in_browser(PHONE) as (phone,):
        await phone.open(url)
        return {
            "the page alone: /help": await send_to_answer(phone, "help", lambda _: {}),
            "keystroke to suggestion": await key_to_suggestion(phone),
            "question to answer": await send_to_answer(
                phone, "wind", lambda n: {"question": f"{5 + n / 10} mph from 4, 6-iron, 145"}
            ),
            "press to moved line": await press_to_line(phone),
        }


def main() -> int:
    """Print the medians; no bound, for the page is not ours."""
    if CHROMIUM is None:
        print("Not measured: there is no Chromium on this machine.")
        return 0
    command = [sys.executable, "-m", "bot", "try", "--port", str(free_port())]
    ground = subprocess.Popen(
        command,
        cwd=ROOT,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        assert ground.stdout is not None
        url = next(found[0] for row in ground.stdout if (found := re.search(r"http://\S+", row)))
        found = asyncio.run(measured(url))
    except Error as error:
        print(f"Not measured: {error}")
        return 1
    finally:
        ground.terminate()
        ground.wait(30)
    alone = median(found["the page alone: /help"])
    for name, seconds in found.items():
        took = median(seconds)
        print(f"{name:24} median {1e3 * took:5.0f} ms, {took / alone:4.2f} times the page alone")
    return 0


if __name__ == "__main__":
    sys.exit(main())
