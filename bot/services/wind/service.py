"""Wind questions from text to answer, and the suggestions while one is typed. Knows no Discord."""

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from bot.services.actions import ShowPicture
from bot.services.answer_actions import PickWind
from bot.services.batcher import Batcher
from bot.services.caddie.caddie import Asked, Caddie
from bot.services.caddie.equivalents import Equivalent
from bot.services.caddie.rack import Choice
from bot.services.equivalents import ways
from bot.services.kits.examples import examples
from bot.services.members import BagCache, Caddies, ToldAim, ToldAims, wind_mmps
from bot.services.wind.options import aim_example, read_options
from bot.services.wind_menus import wind_menus
from engine.finish_law import Law, allow_finish
from shared import limits
from shared.answer import Answer
from shared.answer_text import LONGEST_SUGGESTION, suggestion
from shared.bag import Bag
from shared.errors import LeewardError
from shared.menu import MenuFields
from shared.quantities import Wind
from shared.shot import Shot
from shared.shot_text import complete, format_shot, missing, parse, require_question
from shared.units import UnitSystem
from shared.wording import wind_in


@dataclass(frozen=True)
class Reply:
    """An answer with what its reader needs to see it: their units, and whether they alone do."""

    answer: Answer
    units: UnitSystem
    mark: str
    private: bool = False
    usual: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class Ways:
    """Every club and grade that reaches what was asked without a club."""

    found: list[Equivalent]
    shot: Shot
    units: UnitSystem
    mark: str
    private: bool = False


@dataclass(frozen=True)
class Suggestion:
    """``shown`` in the list while typing, ``value`` is the question it stands for."""

    shown: str
    value: str


Question = tuple[Caddie, Asked]


def answer_all(
    questions: Sequence[Question], law: Law = allow_finish
) -> list[Answer | LeewardError]:
    """``Caddie.answers`` of questions to several caddies, in their order."""
    places: dict[int, list[int]] = {}
    for place, (caddie, _) in enumerate(questions):
        places.setdefault(id(caddie), []).append(place)
    found: dict[int, Answer | LeewardError] = {}
    for own in places.values():
        asked = [questions[place][1] for place in own]
        answers = questions[own[0]][0].answers(asked, law=law)
        found.update(zip(own, answers, strict=True))
    return [found[place] for place in range(len(questions))]


class WindService:
    """Answers a member's wind questions with their bag and their community's kit."""

    def __init__(
        self, *, kits: Caddies, bags: BagCache, told: ToldAims, law: Law = allow_finish
    ) -> None:
        self.kits = kits
        self.bags = bags
        self._told = told
        self._batcher: Batcher[Question, Answer] = Batcher(partial(answer_all, law=law))

    async def example(self, community_id: int, member_id: int) -> str:
        """A question that this member's game answers, in their units."""
        caddie, bag = await self._stand_by(community_id, member_id)
        return examples(caddie.kit, bag.units)[0]

    async def reply(
        self, *, community_id: int, member_id: int, text: str, wind: Wind | None = None
    ) -> Reply | Ways:
        """The answer to a question as typed; without a club, every club that reaches.

        ``wind`` takes the place of the text's own. Errors: ShotTextError for what can't be read or
        is missing, and those of the caddie.
        """
        caddie, bag = await self._stand_by(community_id, member_id)
        shot = parse(text, kit=caddie.kit, units=bag.units, bag=bag)
        if wind is not None:
            shot = shot.model_copy(update={"wind": wind_in(wind, bag.units)})
        mark = caddie.kit.mark.name
        if missing(shot) == ("club",):
            found = await asyncio.to_thread(ways, shot=shot, caddie=caddie, bag=bag)
            return Ways(found, shot, bag.units, mark, bag.private)
        require_question(shot, text, kit=caddie.kit, units=bag.units)
        answer = await self._answer(caddie, Asked(shot, bag, text))
        self._told.note(community_id, member_id, _told(answer))
        usual = tuple(await self._told.winds(community_id, member_id))
        return Reply(answer, bag.units, mark, bag.private, usual)

    async def _stand_by(self, community_id: int, member_id: int) -> tuple[Caddie, Bag]:
        """The community's caddie and the member's bag, by one read of their versions."""
        return await asyncio.gather(
            self.kits.caddie(community_id), self.bags.get(community_id, member_id)
        )

    async def _answer(self, caddie: Caddie, asked: Asked) -> Answer:
        """The answer to a complete question, in one batch with what is asked beside it."""
        known = caddie.known(asked)
        return known if known is not None else await self._batcher.ask((caddie, asked))

    async def text_of(
        self, options: Mapping[str, str | None], *, community_id: int, member_id: int
    ) -> str:
        """The options of /aim as one question. Errors: InputError naming the one that is wrong."""
        caddie, bag = await self._stand_by(community_id, member_id)
        example = aim_example(caddie.kit, bag.units)
        return format_shot(read_options(options, kit=caddie.kit, bag=bag, example=example))

    async def suggest(self, *, community_id: int, member_id: int, text: str) -> list[Suggestion]:
        """The answer itself as soon as the text asks something, then ways to go on typing."""
        caddie, bag = await self._stand_by(community_id, member_id)
        endings = complete(text, kit=caddie.kit, bag=bag, units=bag.units)
        onward = [Suggestion(each, each) for each in endings]
        if not 0 < len(text) <= LONGEST_SUGGESTION:
            return onward
        try:
            shot = parse(text, kit=caddie.kit, units=bag.units, bag=bag)
            if missing(shot):
                return onward
            answer = await self._answer(caddie, Asked(shot, bag, text))
        except LeewardError:
            return onward
        shown = suggestion(answer, units=bag.units, mark=caddie.kit.mark.name)
        return [Suggestion(shown, text), *onward]


def _told(answer: Answer) -> ToldAim:
    wind = answer.shot.wind
    assert wind is not None
    return ToldAim(
        choice=Choice(answer.club, answer.grade, answer.ball),
        wind_mmps=wind_mmps(wind),
        carry_yd=answer.distance_yd,
        aim_yd=(answer.allowance.long_yd, answer.allowance.right_yd),
        onto=answer.shot.onto,
    )


def whole_text(answer: Answer) -> str:
    """An answer's question with its grade and ball, for its buttons; empty if too long to keep."""
    named = answer.shot.model_copy(update={"grade": answer.grade, "ball": answer.ball})
    text = format_shot(named)
    return text if len(ShowPicture(text).id) <= limits.CUSTOM_ID else ""


def answer_menus(reply: Reply, asker: int) -> list[MenuFields]:
    """The menus that ask an answer's question in another wind; none if it is too long to keep."""
    shot = reply.answer.shot
    assert shot.wind is not None
    wind, text = shot.wind, format_shot(shot.model_copy(update={"wind": None}))
    found = wind_menus(
        lambda part: PickWind(part, asker, wind, text).id,
        wind=wind,
        usual=reply.usual,
        units=reply.units,
    )
    return [each for each in found if len(each.custom_id) <= limits.CUSTOM_ID]
