"""Hands for the practice ground's page: they type, press and read as a person in a browser does.

What the page needs, so that these helpers and a newcomer do the same:

- ``/name`` is typed into the composer and chosen from the list above it (Tab takes the marked one).
- Required options then stand as fields in the line, in their order; optional ones are added from
  the "+ options" button at its end. Every field is typed into by itself.
- Suggestions open above the line. Enter takes the marked suggestion and a second Enter sends; the
  send button sends at once, with the text as typed.
"""

import shutil
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.async_api import ConsoleMessage, Locator, Page, async_playwright

CHROMIUM = shutil.which("chromium")
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine")

WAIT_MS = 20_000
PRESSES = 3
DESKTOP = (1280, 800)
PHONE = (390, 844)

# The page tells how far it is; without this a press lands on what is about to be redrawn.
AT_REST = """() => {
  const page = window.simcordPreview;
  return Boolean(page && page.ready && page.authorized && !page.pendingAction && !page.pendingQuery
    && page.awaitingRevision === null);
}"""
STARTED_AFTER = """(sequence) => {
  const page = window.simcordPreview;
  return Boolean(page.pendingAction || (page.lastAction && page.lastAction.sequence > sequence));
}"""
DONE_AFTER = """(sequence) => {
  const page = window.simcordPreview;
  return page.lastAction && page.lastAction.sequence > sequence && !page.pendingAction
    && page.awaitingRevision === null && page.ready;
}"""
SUGGESTED_FOR = """(option) => {
  const found = window.simcordPreview.commandPicker.autocomplete;
  return found.option === option && found.state !== "loading";
}"""


class PageDriver:
    """One person in front of one page; ``errors`` collects what its console complains about."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.errors: list[str] = []
        self.missed = 0  # presses that hit nothing
        page.set_default_timeout(WAIT_MS)
        page.on("console", self._note)
        page.on("pageerror", lambda error: self.errors.append(str(error)))

    def _note(self, line: ConsoleMessage) -> None:
        # Every browser asks for an icon by itself; that the page has none is no fault of ours.
        if line.type == "error" and not line.location["url"].endswith("/favicon.ico"):
            self.errors.append(line.text)

    async def open(self, url: str) -> None:
        """Go to the page and wait until it can be used."""
        await self.page.goto(url)
        await self.at_rest()

    async def at_rest(self) -> None:
        """Wait until nothing is under way."""
        await self.page.wait_for_function(AT_REST)

    async def type_command(self, name: str, /, **options: str) -> list[str]:
        """Type ``/name`` and its options; give the suggestions that stand open at the end.

        An option whose value must be one of a list (choices, true or false, a member) is chosen
        from it; free text and autocompleted text stay as typed.
        """
        await self.at_rest()
        unsent = self.page.locator(".command-context-close")
        if await unsent.count():  # a command that failed stays in the line
            await unsent.click()
        await self.page.locator("#channel-composer-input").fill(f"/{name}")
        entry = self.page.locator(".command-entry").filter(
            has=self.page.get_by_text(f"/{name}", exact=True)
        )
        await entry.click()
        for option, value in options.items():
            await self._fill(option, value)
        return await self.suggestions()

    async def _fill(self, option: str, value: str) -> None:
        field = self.page.locator(f'.command-option-input[data-option="{option}"]')
        if not await field.count():
            await self.page.locator(".command-ghost").click()
            await self._suggestion(option).click()
        await field.fill(value)
        if await field.get_attribute("role") != "combobox":
            return
        picker = await self.page.evaluate("() => window.simcordPreview.commandPicker")
        if picker["autocomplete"]["option"] == option:
            await self.page.wait_for_function(SUGGESTED_FOR, arg=option)
            await self.at_rest()
        else:
            await self._suggestion(value).click()

    def _suggestion(self, text: str) -> Locator:
        return self.page.locator(".command-suggestion").filter(
            has=self.page.get_by_text(text, exact=True)
        )

    async def suggestions(self) -> list[str]:
        """Read the suggestions that stand open, from the top."""
        return await self.page.locator(".command-suggestion-label").all_inner_texts()

    async def choose(self, text: str) -> None:
        """Take one of the open suggestions."""
        await self._suggestion(text).click()

    async def send(self) -> str:
        """Send what is typed; give the text of the newest message afterwards."""
        await self._finished(self.page.locator("#send-message"))
        return await self.last_message()

    async def run_command(self, name: str, /, **options: str) -> str:
        """Type a command and send it; give the text of the newest message afterwards."""
        await self.type_command(name, **options)
        return await self.send()

    async def press(self, label: str) -> str:
        """Press the newest button of that label; give the text of the newest message afterwards."""
        await self.at_rest()
        button = self.page.locator(".component-button").filter(
            has=self.page.get_by_text(label, exact=True)
        )
        await self._finished(button.last)
        return await self.last_message()

    async def pick(self, now: str, label: str) -> str:
        """Open the newest menu that shows ``now`` and choose; the text of the newest message."""
        await self.at_rest()
        menus = self.page.locator("[role=combobox]").filter(has_text=now)
        await menus.last.click()
        await self._finished(self.page.get_by_role("option", name=label, exact=True).last)
        return await self.last_message()

    async def fill_modal(self, values: Mapping[str, str]) -> str:
        """Fill the open form by its labels and send it; give the newest message's text."""
        dialog = self.page.locator(".modal-dialog")
        for label, value in values.items():
            field = dialog.locator(".modal-field").filter(has_text=label)
            await field.locator("input, textarea").first.fill(value)
        await self._finished(dialog.locator("button[type=submit]"))
        return await self.last_message()

    async def vote(self, answer: str) -> None:
        """Vote for an answer of the newest poll."""
        poll = self.page.locator(".message-poll").last
        await poll.locator("button.poll-answer").filter(has_text=answer).click()
        await self._finished(poll.locator(".poll-submit"))

    async def view_as(self, name: str) -> None:
        """Become another of the page's people."""
        await self.at_rest()
        picker = self.page.locator("#viewer-picker")
        options = await picker.locator("option").all_inner_texts()
        chosen = next(text for text in options if name in text)
        await picker.select_option(label=chosen)
        await self.page.wait_for_function(
            """(name) => document.querySelector("#viewer-picker").selectedOptions[0]?.label === name
              && !window.simcordPreview.pendingAction""",
            arg=chosen,
        )
        await self.at_rest()

    async def messages(self) -> list[str]:
        """Read all messages on the page, the newest last."""
        return await self.page.locator("#channel-message-list > *").all_inner_texts()

    async def last_message(self) -> str:
        """Read the newest message."""
        await self.at_rest()
        return (await self.messages())[-1]

    async def sees_newest(self) -> bool:
        """Tell whether the newest message is, at least in part, before the person's eyes."""
        return await self.page.evaluate(
            """() => {
              const page = window.simcordPreview;
              return page.visibleMessageIds.includes(page.projectedMessageIds.at(-1));
            }"""
        )

    async def screenshot(self, path: Path) -> None:
        """Take a picture of what the person sees."""
        await self.page.screenshot(path=path)

    async def sideways_px(self) -> int:
        """Measure by how much the page is wider than its window, in pixels."""
        return await self.page.evaluate(
            "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )

    async def _finished(self, button: Locator) -> None:
        """Press ``button`` and see what it started through to its end.

        What others post moves the page under the pointer, so a press that started nothing is
        made again, as a person would.
        """
        before = await self.page.evaluate("() => window.simcordPreview.lastAction?.sequence ?? 0")
        for _ in range(PRESSES):
            await button.click()
            if await self.page.evaluate(STARTED_AFTER, before):
                break
            self.missed += 1
            await self.at_rest()
        await self.page.wait_for_function(DONE_AFTER, arg=before)
        receipt: dict[str, Any] = await self.page.evaluate("() => window.simcordPreview.lastAction")
        done = receipt["settlement"] == "settled" and not receipt["rejected"]
        assert done and receipt["acknowledgement"] != "unacknowledged", receipt


@asynccontextmanager
async def in_browser(*sizes: tuple[int, int]) -> AsyncIterator[list[PageDriver]]:
    """Start Chromium with one empty page for each size (width, height in pixels)."""
    async with async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        try:
            drivers: list[PageDriver] = []
            for width, height in sizes:
                page = await browser.new_page(viewport={"width": width, "height": height})
                drivers.append(PageDriver(page))
            yield drivers
        finally:
            await browser.close()
