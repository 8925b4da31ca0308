"""How long, which answers, who won: what a coach typed and what people read, without a chat."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.services.polls.duration import hours_of, hours_words
from bot.services.polls.labels import (
    chosen_lines,
    line_label,
    own_answers,
    question_of,
    unique_labels,
)
from bot.services.polls.outcome import (
    Outcome,
    Row,
    agreement,
    headline,
    results_words,
)
from bot.services.verdicts.words import row_of
from engine.group_rates import MemberTries, learn_group
from engine.verdict import TriedLine, hole_verdict
from shared.book import Hole, Line, LineShot, Status
from shared.errors import InputError
from shared.text import size


@pytest.mark.parametrize(
    ("typed", "hours"),
    [
        ("2 days", 48),
        ("2d", 48),
        (" For 36 Hours ", 36),
        ("36h", 36),
        ("7", 7),
        ("1 day 12 hours", 36),
        ("1d12h", 36),
        ("a day and an hour", 25),
        ("half a day", 12),
        ("1.5 days", 36),
        ("1,5 days", 36),
        ("two weeks", 336),
        ("90 minutes", 2),
        ("60 min", 1),
        ("32 days", 768),
    ],
)
def test_a_time_is_read_as_people_say_it(typed: str, hours: int) -> None:
    assert hours_of(typed) == hours


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "1 hour to 32 days"),
        ("30 minutes", "1 hour to 32 days"),
        ("0 days", "1 hour to 32 days"),
        ("33 days", "1 hour to 32 days"),
        ("32 days 1 hour", "1 hour to 32 days"),
        ("999999 weeks", "1 hour to 32 days"),
        ("soon", "no length of time"),
        ("some days", "no length of time"),
        ("-3 days", "no length of time"),
        ("3 days or so", "no length of time"),
        ("3 months", "no length of time"),
    ],
)
def test_what_is_no_time_is_said_with_an_example_that_works(typed: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        hours_of(typed)
    assert says in refused.value.sentence and refused.value.given == typed
    assert hours_of(refused.value.example) == 48


@given(st.integers(1, 768))
def test_what_is_said_of_a_time_reads_as_the_same_time(hours: int) -> None:
    assert hours_of(hours_words(hours)) == hours


def test_hours_in_words() -> None:
    assert [hours_words(n) for n in (1, 23, 24, 37, 768)] == [
        "1 hour",
        "23 hours",
        "1 day",
        "1 day 13 hours",
        "32 days",
    ]


def line(variant: str, status: Status = "idea", title: str | None = None) -> Line:
    shot = LineShot(shot="driver (yew), 228 yd")
    return Line(variant=variant, status=status, title=title, wind="calm", shots=(shot,))


def hole(*lines: Line) -> Hole:
    return Hole(number=7, par=4, yards=361, lines=lines)


def test_of_more_than_ten_lines_the_best_stay_and_the_rest_is_named() -> None:
    statuses: dict[str, Status] = dict.fromkeys("ABCDEFGHIJKLM", "idea")
    statuses |= {"C": "retired", "L": "recommended", "M": "tested"}
    taken, left_out = chosen_lines(hole(*(line(v, s) for v, s in statuses.items())), None)
    assert [each.variant for each in taken] == list("ABDEFGHILM")
    assert [each.variant for each in left_out] == ["J", "K"]


def test_a_hole_with_nothing_to_choose_between_is_refused() -> None:
    with pytest.raises(InputError, match="has no line yet"):
        chosen_lines(hole(), None)
    with pytest.raises(InputError, match="has only line B"):
        chosen_lines(hole(line("A", "retired"), line("B")), None)


def test_labels_begin_with_the_letter_and_are_cut_to_what_discord_takes() -> None:
    assert line_label(line("B", title="the safe one")) == "B: the safe one"
    own = line("B", title="the safe one").model_copy(update={"divisions": ("Oar", "Punt")})
    assert line_label(own, whose=True) == "B: the safe one (Oar, Punt)"
    assert line_label(own) == "B: the safe one"
    long = own.model_copy(update={"title": "over the " * 6})
    assert size(line_label(long, whose=True)) <= 55
    assert line_label(long, whose=True).endswith("… (Oar, Punt)")
    assert line_label(line("D")) == "D: driver (yew), 228 yd"
    cut = line_label(line("C", title="⛳" * 40 + "𝔏" * 20))
    assert cut.startswith("C: ⛳") and cut.endswith("…") and size(cut) <= 55


def test_own_answers_come_between_semicolons_lines_or_commas() -> None:
    assert own_answers(" Saturday ;Sunday;; either, or none ") == (
        "Saturday",
        "Sunday",
        "either, or none",
    )
    assert own_answers("one\ntwo, three\r\n\n") == ("one", "two, three")
    assert own_answers("early, late") == ("early", "late")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("only one", "at least two answers"),
        (";;\u200b;", "at least two answers"),
        (";".join("abcdefghijk"), "10 answers at most; these are 11"),
        ("Sunday; Saturday; SUNDAY", "“SUNDAY” is there twice"),
    ],
)
def test_answers_a_poll_cannot_hold_are_refused(typed: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        own_answers(typed)
    assert says in refused.value.sentence
    assert len(own_answers(refused.value.example)) == 3


def test_answers_that_are_cut_to_the_same_stay_apart() -> None:
    texts = ["x" * 70 + end for end in ("a", "b", "c")]
    labels = unique_labels(texts)
    assert len(set(labels)) == 3 and all(size(label) <= 55 for label in labels)
    assert labels[0] == "x" * 54 + "…" and labels[2].endswith("… (3)")


@given(st.lists(st.text(min_size=1, max_size=120), min_size=1, max_size=10))
def test_labels_are_always_unique_and_short_enough(texts: list[str]) -> None:
    labels = unique_labels(texts)
    assert len({label.casefold() for label in labels}) == len(texts)
    assert all(0 < size(label) <= 55 for label in labels)


def test_a_question_too_long_is_refused_with_its_length() -> None:
    assert question_of("  When\nnext? ") == "When next?"
    with pytest.raises(InputError, match=r"300 characters; this one has 301\."):
        question_of("q" * 301)
    with pytest.raises(InputError, match="needs a question"):
        question_of(" \u200b ")


def outcome(
    *rows: tuple[str, int, int, int], voters: int, besides: tuple[tuple[str, int, int], ...] = ()
) -> Outcome:
    """Rows of letter, votes, tries, holed, six members a line; lines the poll does not have."""
    counts = [(name, tries, holed) for name, _, tries, holed in rows]
    lines = [TriedLine(name, split(tries, holed)) for name, tries, holed in (*counts, *besides)]
    verdict = hole_verdict(lines, learn_group([each.members for each in lines]))
    return Outcome(
        tuple(
            Row(f"{name}: line {name}", name, votes, row_of(verdict, name))
            for name, votes, *_ in rows
        ),
        voters,
        on_lines=True,
        verdict=verdict,
    )


def split(tries: int, holed: int) -> MemberTries:
    """Tries and holed spread evenly over six members."""
    tried = [len(range(n, tries, 6)) for n in range(6)]
    made = [len(range(n, holed, 6)) for n in range(6)]
    return MemberTries(made, tried)


def test_one_winner_a_tie_and_no_vote_at_all() -> None:
    assert headline(outcome(("A", 1, 0, 0), ("B", 3, 0, 0), voters=4)) == (
        "B: line B wins: 3 of 4 voters"
    )
    assert headline(outcome(("A", 2, 0, 0), ("B", 1, 0, 0), ("C", 2, 0, 0), voters=5)) == (
        "A tie between A and C: 2 of 5 voters each"
    )
    assert headline(outcome(("A", 0, 0, 0), ("B", 0, 0, 0), voters=0)) == "Nobody voted"
    assert headline(outcome(("A", 1, 0, 0), ("B", 0, 0, 0), voters=1)) == (
        "A: line A wins: 1 of 1 voter"
    )


def test_without_results_the_votes_stand_alone() -> None:
    bare = outcome(("A", 1, 0, 0), ("B", 0, 0, 0), voters=1)
    assert results_words(bare) == "No result is logged for these lines yet: the votes stand alone."
    assert agreement(bare) == ""


def test_few_tries_name_no_line_and_none_of_six_never_leads() -> None:
    few = outcome(("A", 3, 3, 1), ("B", 1, 3, 1), ("C", 0, 0, 0), voters=4)
    assert results_words(few) == "The results name no line yet, after 6 tries in all."
    assert agreement(few) == ""
    none = outcome(("A", 0, 6, 0), ("B", 2, 0, 0), voters=2)
    assert none.named == () and agreement(none) == ""


def test_many_tries_speak_for_a_line_or_call_two_equal() -> None:
    clear = outcome(("A", 1, 30, 4), ("B", 4, 25, 18), voters=5)
    said = results_words(clear)
    assert said.startswith("The results speak for B: holed 18 of 25, ")
    assert said.endswith("% to be the best.")
    assert agreement(clear) == "Votes and results agree."
    other = outcome(("A", 4, 30, 4), ("B", 1, 25, 18), voters=5)
    assert agreement(other) == "The votes say A, the results lean to B."
    tied = outcome(("A", 2, 30, 4), ("B", 2, 25, 18), voters=4)
    assert agreement(tied) == "Of the tied, the results lean to B."
    close = outcome(("A", 2, 150, 45), ("B", 3, 125, 38), voters=5)
    assert results_words(close) == ("The results call A and B about equal, after 275 tries in all.")
    assert agreement(close) == "Votes and results agree."


def test_a_line_the_poll_does_not_have_is_judged_with_it() -> None:
    found = outcome(("A", 3, 30, 9), ("B", 1, 30, 6), voters=4, besides=(("D", 30, 27),))
    assert results_words(found).startswith("The results speak for D: holed 27 of 30, ")
    assert agreement(found) == "The votes say A, the results lean to D."
