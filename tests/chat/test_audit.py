"""The audit channel hears what coaches change, who did it and why; without one nothing is said."""

from typing import Any

import pytest

from tests.chat.booking import load_cup
from tests.chat.conftest import Stage


@pytest.fixture
async def heard(stage: Stage) -> Any:
    """A channel for it; what it has heard."""
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "gain freeze", club="3-wood", reason="before")
    channel = stage.guild.create_text_channel("what-coaches-do")
    await stage.coach.slash(stage.questions, "setup audit", channel=channel)

    async def lines() -> list[str]:
        await stage.env.advance_time(61)
        return [str(message.embeds[0].description) for message in channel.history()]

    return lines


async def test_decisions_and_the_book_are_told_with_their_reason(stage: Stage, heard: Any) -> None:
    assert await heard() == []  # nothing of what was before
    await stage.coach.slash(
        stage.questions, "gain freeze", club="driver", reason="*an update* @everyone"
    )
    await stage.coach.slash(stage.questions, "line retire", hole=2, line="B")
    frozen, retired = await heard()
    assert frozen.startswith("rosalind: froze the driver (") and "an update" in frozen
    assert "*an" not in frozen.replace("\\*", "")
    assert retired.startswith("rosalind: line ") and "status retired" in retired


async def test_what_was_refused_is_not_told(stage: Stage, heard: Any) -> None:
    await stage.coach.slash(stage.questions, "gain release", club="driver", reason="not frozen")
    assert stage.env.errors
    assert await heard() == []


async def test_an_event_is_one_message_and_no_channel_is_silence(stage: Stage, heard: Any) -> None:
    await stage.coach.slash(stage.questions, "event copy", name="Second Cup")
    (told,) = await heard()
    assert " more" in told and len(told) < 1000
    shown = await stage.coach.slash(stage.questions, "setup show")
    assert "What coaches change: <#" in str(shown.response.embeds[0].description)
    await stage.coach.slash(stage.questions, "setup audit")
    await stage.coach.slash(stage.questions, "line retire", hole=2, line="B")
    assert len(await heard()) == 1
