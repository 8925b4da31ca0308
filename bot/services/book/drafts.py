"""Lines being written: what a coach has typed, kept until it is saved or given up.

A draft outlives a restart, so that a button pressed a minute later still works and nothing typed
is lost. Knows no Discord.
"""

import secrets
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field, ValidationError

from bot.services.book.check import require_wind
from bot.services.book.shot_rows import RowReader, format_rows
from bot.services.book.stored import KeptLine
from bot.services.caddie.caddie import choose
from shared import limits
from shared.bag import Bag
from shared.book import Line, Status
from shared.errors import InputError, ShotTextError
from shared.kit import Kit
from shared.model import Model
from shared.shot_text import format_shot, parse
from shared.shot_text.write import example_shot, wind_text
from shared.units import UnitSystem
from storage.drafts import Drafts as KeptDrafts

TOKEN_BYTES = 6


class LineDraft(Model):
    """A line as typed. ``based_on`` is the revision it changes; None for a new line."""

    token: Annotated[str, Field(pattern=r"^[0-9a-f]+$")]
    event: str
    hole: int
    variant: str | None = None
    based_on: int | None = None
    author: str
    title: str = ""
    status: Status = "idea"
    divisions: tuple[str, ...] = ()
    wind: str = ""
    rows: str = ""
    notes: str = ""
    copied: str = ""


def new_token() -> str:
    """A token no other draft has."""
    return secrets.token_hex(TOKEN_BYTES)


def draft_from(kept: KeptLine, *, event: str, mark: str) -> LineDraft:
    """A kept line as a draft, to be changed.

    Errors: InputError for a line longer than a form takes.
    """
    line = kept.line
    assert line is not None
    rows = format_rows(line.shots, mark=mark)
    if len(rows) > limits.FORM_TEXT:
        raise InputError(
            "This line is longer than a form takes; change it in the event's file.",
            "/cup export",
        )
    return LineDraft(
        token=new_token(),
        event=event,
        hole=kept.hole,
        variant=kept.variant,
        based_on=kept.revision,
        author=line.author,
        title=line.title or "",
        status=line.status,
        divisions=line.divisions,
        wind=line.wind,
        rows=rows,
        notes=line.notes,
        copied=line.copied or "",
    )


@dataclass(frozen=True)
class DraftReader:
    """How a draft is read: the kit, the hole's bearing, the coach's bag and units."""

    kit: Kit
    bearing_deg: float | None
    bag: Bag

    @property
    def units(self) -> UnitSystem:
        """The units of numbers typed without one."""
        return self.bag.units

    @property
    def rows(self) -> RowReader:
        """How the rows of a draft are read."""
        alone = example_shot(self.kit, self.units).model_copy(update={"wind": None})
        return RowReader(
            units=self.units,
            mark=self.kit.mark.name,
            shot=self._shot,
            example=format_shot(alone),
        )

    def line(self, draft: LineDraft) -> Line:
        """The line a draft says, all units written out, club grades and ball filled in.

        Errors: InputError for the wind, RowsError for the rows, InputError for the rest.
        """
        wind = self._wind(draft.wind)
        shots = self.rows.read(draft.rows)
        try:
            return Line(
                variant=draft.variant or "A",
                title=draft.title or None,
                status=draft.status,
                author=draft.author,
                divisions=draft.divisions,
                wind=wind,
                shots=shots,
                notes=draft.notes,
                copied=draft.copied if draft.copied and draft.status != "tested" else None,
            )
        except ValidationError as error:
            problem = error.errors()[0]
            field = str(problem["loc"][0]) if problem["loc"] else "line"
            said = problem["msg"].removeprefix("Value error, ")
            raise InputError(f"The {field} can't be kept: {said}.", "Over the bunker") from error

    def _wind(self, text: str) -> str:
        return wind_text(
            require_wind(text, kit=self.kit, bearing_deg=self.bearing_deg, units=self.units)
        )

    def _shot(self, text: str) -> str:
        example = self.rows.example
        try:
            shot = parse(text, kit=self.kit, units=self.units, bearing_deg=self.bearing_deg)
        except ShotTextError as error:
            raise InputError(error.sentence, example, text) from error
        for noun, value in (("club", shot.club), ("distance", shot.distance)):
            if value is None:
                raise InputError(f"This shot needs a {noun}.", example, text)
        chosen = choose(shot=shot, bag=self.bag, kit=self.kit)
        own_ball = chosen.ball if chosen.ball != self.kit.ball(None).name else shot.ball
        return format_shot(shot.model_copy(update={"grade": chosen.grade, "ball": own_ball}))


class Drafts:
    """The last drafts of each coach."""

    def __init__(self, kept: KeptDrafts) -> None:
        self._kept = kept

    async def put(self, community_id: int, member_id: int, draft: LineDraft) -> None:
        """Keep a draft; the oldest of the coach's goes when there are more than five."""
        body = draft.model_dump(mode="json")
        await self._kept.put(community_id, member_id, draft.token, body)

    async def get(self, community_id: int, member_id: int, token: str) -> LineDraft:
        """A draft. Errors: InputError for one that was saved, given up or is too old."""
        found = await self._kept.get(community_id, member_id, token)
        if found is None:
            raise InputError(
                "This line is not waiting any more: it was saved or given up.", "/line add hole:4"
            )
        return LineDraft.model_validate(found)

    async def drop(self, community_id: int, member_id: int, token: str) -> None:
        """Forget a draft; harmless twice."""
        await self._kept.drop(community_id, member_id, token)
