"""Questions answered together get what each gets alone, refusals and communities included."""

import pytest

from bot.services.caddie.caddie import Asked, Caddie
from bot.services.wind.service import answer_all
from shared.answer import Answer
from shared.bag import Bag
from shared.errors import (
    InputError,
    LeewardError,
    TooStrongWindError,
    UnreachableShotError,
)
from shared.shot_text import parse
from shared.units import UnitSystem
from tests.kits import demo_caddie, demo_kit

TEXTS: tuple[tuple[str, UnitSystem], ...] = (
    ("8.4 mph from 2, 5-iron, 165", "yards"),
    ("12 helping, 9-iron, 120, up 6", "yards"),
    ("5 from 10, 5-iron, 310", "yards"),  # no set-up is that long
    ("4 off the left, 7-iron, 128, fade 3", "metric"),
    ("8 from 2, 5-iron, 165, back 20", "yards"),  # more spin than the kit allows
    ("calm, sand wedge, 74", "yards"),
    ("130 mph into, 9-iron, 100", "yards"),
    ("8.4 mph from 2, 5-iron, 165", "yards"),  # asked twice
)


def asked(text: str, units: UnitSystem) -> Asked:
    bag = Bag(units=units, grades={"5-iron": "oak"} if units == "metric" else {})
    return Asked(parse(text, kit=demo_kit(), units=units), bag, text)


def fresh() -> Caddie:
    """A caddie that remembers no answer."""
    first = demo_caddie()
    return Caddie(first.kit, kit_rack=first.kit_rack)


def alone(each: Asked) -> Answer | LeewardError:
    try:
        return fresh().answer(shot=each.shot, bag=each.bag, given=each.given)
    except LeewardError as error:
        return error


def numbers(answer: Answer) -> tuple[float, ...]:
    flight = answer.flight
    return (
        answer.allowance.right_yd,
        answer.allowance.long_yd,
        answer.plays_yd,
        answer.setup_yd,
        answer.margin.right_yd,
        answer.margin.long_yd,
        answer.if_wind.per_mph.right_yd,
        answer.if_wind.per_10_deg.long_yd,
        flight.apex_yd if flight else 0.0,
    )


def test_a_batch_answers_each_as_it_is_answered_alone() -> None:
    questions = [asked(*each) for each in TEXTS]
    found = fresh().answers(questions)
    assert len(found) == len(questions)
    for together, each in zip(found, questions, strict=True):
        by_itself = alone(each)
        assert type(together) is type(by_itself), each.given
        if isinstance(together, Answer) and isinstance(by_itself, Answer):
            assert together.text == by_itself.text and together.club == by_itself.club
            # As printed: to a thousandth of a yard.
            assert numbers(together) == pytest.approx(numbers(by_itself), abs=0.0011)
        else:
            assert str(together) == str(by_itself) and repr(together) == repr(by_itself)
    kinds = [type(each) for each in found]
    assert kinds == [
        Answer,
        Answer,
        UnreachableShotError,
        Answer,
        InputError,
        Answer,
        TooStrongWindError,
        Answer,
    ]


def test_an_answer_is_known_once_it_was_given() -> None:
    caddie, question = fresh(), asked(*TEXTS[0])
    assert caddie.known(question) is None
    (answer,) = caddie.answers([question])
    assert caddie.known(question) is answer
    other = asked("8.4 mph from 2, 5-iron, 165 yd", "metric")  # another grade: another answer
    assert caddie.known(other) is None
    assert caddie.known(asked("8.4 mph from 3, 5-iron, 165", "yards")) is None


def test_nothing_asked_is_nothing_answered() -> None:
    assert fresh().answers([]) == [] and answer_all([]) == []


def test_several_communities_get_their_own_answers_in_the_order_asked() -> None:
    one, other = fresh(), fresh()
    questions = [asked(*each) for each in (TEXTS[0], TEXTS[1], TEXTS[5], TEXTS[2])]
    caddies = (one, other, one, other)
    found = answer_all(list(zip(caddies, questions, strict=True)))
    for answer, question in zip(found, questions, strict=True):
        by_itself = alone(question)
        assert str(answer) == str(by_itself) or isinstance(answer, Answer)
        if isinstance(answer, Answer) and isinstance(by_itself, Answer):
            assert answer.text == by_itself.text
            assert numbers(answer) == pytest.approx(numbers(by_itself), abs=0.0011)
    assert one.known(questions[0]) and not other.known(questions[0])
    assert other.known(questions[1]) and not one.known(questions[1])
