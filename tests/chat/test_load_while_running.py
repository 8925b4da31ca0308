"""``python -m bot load`` reaches a bot that runs: what it answers, and the notes it published."""

import asyncio
import threading
from pathlib import Path

from bot.cli.load import load
from bot.settings import DEMO
from tests.chat.asking import card, text
from tests.chat.booking import load_cup
from tests.chat.conftest import Stage


async def test_a_file_loaded_beside_a_running_bot_is_answered_and_published(
    stage: Stage, tmp_path: Path
) -> None:
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=1)
    await stage.odile.slash(stage.questions, "me division", division="Oar")
    before = await card(stage, stage.odile, "hole", hole=1)
    changed = tmp_path / "changed.toml"
    data = (DEMO / "cup.toml").read_text()
    changed.write_text(data.replace('name = "Slipway"', 'name = "Old Slipway"', 1))
    status: list[int] = []

    def beside() -> None:
        status.append(asyncio.run(load(stage.settings, changed, None)))

    thread = threading.Thread(target=beside)
    thread.start()
    await asyncio.to_thread(thread.join)
    assert status == [0]
    after = await card(stage, stage.odile, "hole", hole=1)
    assert text(before.title).endswith("· Slipway") and text(after.title).endswith("· Old Slipway")
    await stage.env.advance_time(120)
    (note,) = stage.notes.history()
    assert text(note.embeds[0].title).endswith("· Old Slipway")
