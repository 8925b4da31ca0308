"""What is to be posted is stored with what causes it, and what somebody deleted stays away."""

import re
from typing import Any

import pytest

from bot.services.book.book import Book
from bot.services.notes.service import NoteService
from bot.services.sharing.messages import ShareMessages
from shared.errors import StorageError
from storage.outbox import Outbox
from tests.chat.asking import text
from tests.chat.booking import fields_of, load_cup
from tests.chat.conftest import Stage


@pytest.fixture
async def noted(stage: Stage) -> Stage:
    """The demo's cup, hole 2 published."""
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=2)
    return stage


async def miss(stage: Stage) -> None:
    opened = await stage.tamsin.click(stage.notes.history()[0], label="Missed")
    typed = fields_of(opened.modal) | {"line": "A", "wind": "9 mph from 3", "outcome": "2 long"}
    await stage.tamsin.submit_modal(opened, typed)


def said(stage: Stage) -> str:
    (note,) = stage.notes.history()
    return text(note.embeds[0].description)


def lettered(stage: Stage) -> set[str]:
    """The letters of the lines that the note shows."""
    (note,) = stage.notes.history()
    shown = [f"{field.name}\n{field.value}" for field in note.embeds[0].fields]
    return set(re.findall(r"^\W*([A-Z])\b", "\n".join(shown), re.MULTILINE))


def nobody_hears(patch: pytest.MonkeyPatch) -> None:
    """As where Leeward is killed between a change and its telling."""
    patch.setattr(Book, "tell", lambda *_: None)
    patch.setattr("bot.services.book.events.EventStore.tell", lambda *_: None)


async def test_a_result_whose_telling_was_lost_shows_after_the_next_start(
    noted: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        nobody_hears(patch)
        await miss(noted)
    assert "1 try" not in said(noted)
    await noted.restart()
    assert "**A** 1 try, 0 went in" in said(noted)


async def test_a_note_that_could_not_be_made_anew_is_made_at_the_next_look(
    noted: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def locked(*_: Any, **__: Any) -> Any:
        raise StorageError("the database is locked")

    with monkeypatch.context() as patch:
        patch.setattr(NoteService, "_notes", locked)
        await miss(noted)
    assert "1 try" not in said(noted)
    await noted.env.advance_time(61)
    assert "**A** 1 try, 0 went in" in said(noted)


async def test_a_retired_line_whose_telling_was_lost_leaves_the_note_after_the_next_start(
    noted: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        nobody_hears(patch)
        await noted.coach.slash(noted.questions, "line retire", hole=2, line="B")
    assert "B" in lettered(noted)
    await noted.restart()
    assert "B" not in lettered(noted) and "A" in lettered(noted)


async def test_a_share_whose_posting_never_began_stands_after_the_next_start(
    noted: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def killed(*_: Any) -> Any:
        raise StorageError("killed here")

    shot = {"hole": 2, "shot": "6-iron, 155, up 6 aim 6 right", "wind": "9 mph from 3"}
    with monkeypatch.context() as patch:
        nobody_hears(patch)
        patch.setattr(ShareMessages, "post", killed)
        await noted.tamsin.slash(noted.questions, "share", **shot)
    assert noted.env.errors and len(noted.notes.history()) == 1
    await noted.restart()
    titles = [text(message.embeds[0].title) for message in noted.notes.history()]
    assert len(titles) == 2 and "tamsin" in str(noted.notes.history()[1].embeds[0].to_dict())
    await noted.restart()
    assert len(noted.notes.history()) == 2


async def test_a_note_deleted_while_nobody_looked_stays_away_until_it_is_published(
    noted: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def unseen(*_: Any) -> int:
        return 0

    with monkeypatch.context() as patch:
        patch.setattr(Outbox, "gone", unseen)
        await noted.coach.delete(noted.notes.history()[0])
    await noted.coach.slash(noted.questions, "line retire", hole=2, line="B")
    await noted.env.advance_time(61)
    assert noted.notes.history() == []
    await noted.coach.slash(noted.questions, "publish", hole=2)
    assert "B" not in lettered(noted) and "A" in lettered(noted)


async def test_notes_that_went_with_many_other_messages_stay_away(noted: Stage) -> None:
    await noted.coach.slash(noted.questions, "publish", hole=3)
    channel: Any = noted.bot.get_channel(noted.notes.id)
    await channel.delete_messages(
        [channel.get_partial_message(m.id) for m in noted.notes.history()]
    )
    await noted.env.settle()
    assert noted.notes.history() == []
    await noted.coach.slash(noted.questions, "line retire", hole=2, line="B")
    await noted.env.advance_time(61)
    assert noted.notes.history() == []
