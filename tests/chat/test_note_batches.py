"""What is computed for a round's notes: in one batch, and only what a change has touched."""

from collections.abc import Sequence

import pytest

from bot.services.notes import service
from tests.chat.asking import card
from tests.chat.booking import fill, load_cup
from tests.chat.conftest import Stage


class Counted:
    """How many holes each batch of parts had, and how many lines each batch of ceilings."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.parts: list[int] = []
        self.ceilings: list[int] = []
        parts_of, line_ceilings = service.parts_of, service.line_ceilings

        def parts(*, holes: Sequence[object], **rest: object) -> object:
            self.parts.append(len(holes))
            return parts_of(holes=holes, **rest)  # pyright: ignore[reportArgumentType]

        def ceilings(*, cases: list[object], **rest: object) -> object:
            self.ceilings.append(len(cases))
            return line_ceilings(cases=cases, **rest)  # pyright: ignore[reportArgumentType]

        monkeypatch.setattr(service, "parts_of", parts)
        monkeypatch.setattr(service, "line_ceilings", ceilings)

    def taken(self) -> tuple[list[int], list[int]]:
        found = self.parts.copy(), self.ceilings.copy()
        self.parts.clear()
        self.ceilings.clear()
        return found


async def test_a_round_is_one_batch_and_a_change_computes_what_it_touches(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    counted = Counted(monkeypatch)
    await stage.coach.slash(stage.questions, "publish")
    assert counted.taken() == ([9], [21])  # one line is retired
    opened = await stage.coach.slash(stage.questions, "event winds", division="Oar")
    await fill(stage, stage.coach, opened, rows="1: 9 from 3\n4: 3 from 8")
    assert counted.taken() == ([2], [])  # a wind changes no ceiling
    await card(stage, stage.coach, "event hole", row="1 par 4, 372, bearing 35, Slipway")
    assert counted.taken() == ([1], [3])
    await card(stage, stage.coach, "event round", round="Closing round")
    assert counted.taken() == ([9], [])
    note = stage.notes.history()[0]
    await stage.tamsin.click(note, label="Went in")
    assert counted.taken() == ([], [])  # a result changes what is said of tries alone
    await stage.tamsin.slash(stage.questions, "hole", hole=4)
    assert counted.taken() == ([1], [])
    await stage.coach.slash(stage.questions, "publish", hole=4)
    assert counted.taken() == ([1], [2])
    await card(stage, stage.coach, "gain freeze", club="driver", reason="an update")
    await stage.bot.cogs["NotesCog"].notes.book.all_told()  # type: ignore[attr-defined]
    assert counted.taken() == ([9], [21])  # other answers: all that is published, in one batch
