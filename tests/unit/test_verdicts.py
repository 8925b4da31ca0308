"""One verdict on a hole for every place that gives one: in the reader's wind, of lines in play."""

from dataclasses import replace

import numpy as np
import pytest

from bot.commands.compare.cards import compare_headline
from bot.services.caddie.adapt import AdaptedLine, read_wind
from bot.services.compare.bars import bars_of
from bot.services.compare.service import HoleRow, HoleTable, RoundTable, _table
from bot.services.for_me import better_line
from bot.services.polls.outcome import Outcome as PollOutcome
from bot.services.polls.outcome import results_words
from bot.services.practice import plan_of
from bot.services.verdicts.results import EventResults, OwnWind, Reader, event_results
from bot.services.verdicts.words import chance_words, verdict_letters, verdict_line, verdict_words
from engine.verdict import LineRow, Outcome, Verdict
from shared.bag import Bag
from shared.book import Event, Hole, HoleWind, Line, LineShot, Status
from shared.errors import InputError
from storage.member_tries import LineMembers
from storage.tallies import HoleTally
from tests.kits import demo_caddie, demo_kit
from tests.unit.test_adapt import line as read_line_of
from tests.unit.test_adapt import moved

TESTED = "9 mph from 3"
SHOT = LineShot(shot="6-iron, 144 yd")


def line(variant: str, status: Status = "tested", divisions: tuple[str, ...] = ()) -> Line:
    return Line(variant=variant, status=status, divisions=divisions, wind=TESTED, shots=(SHOT,))


def cup(*lines: Line, holes: int = 9) -> Event:
    winds = (HoleWind(division="Sail", round="One", wind=TESTED),)
    found = tuple(
        Hole(number=n + 1, par=3, yards=150, winds=winds, lines=lines if n == 1 else ())
        for n in range(holes)
    )
    return Event(name="Heron Cup", divisions=("Sail", "Oar"), rounds=("One", "Two"), holes=found)


def members(event: Event, variant: str, *came: tuple[int, int], wind: str = "") -> LineMembers:
    """Holed and tries of each member, in one wind or one that is not known."""
    key = event.key.hole(2)
    along, right = np.nan, np.nan
    if wind:
        read = read_wind(text=wind, kit=demo_kit())
        angle = np.radians(read.relative_deg)
        along, right = -read.speed.mps * np.cos(angle), -read.speed.mps * np.sin(angle)
    return LineMembers(
        hole_key=str(key),
        line_key=str(key.line(variant)),
        variant=variant,
        member=np.arange(len(came)),
        along_mps=np.full(len(came), along),
        right_mps=np.full(len(came), right),
        names=(("6-iron", demo_caddie().kit.club("6-iron").grades[0].name),) * len(came),
        tries=np.array([tries for _, tries in came]),
        holed=np.array([holed for holed, _ in came]),
    )


def together(one: LineMembers, other: LineMembers) -> LineMembers:
    """The same members in two winds."""
    return replace(
        one,
        member=np.concatenate([one.member, other.member]),
        along_mps=np.concatenate([one.along_mps, other.along_mps]),
        right_mps=np.concatenate([one.right_mps, other.right_mps]),
        names=one.names + other.names,
        tries=np.concatenate([one.tries, other.tries]),
        holed=np.concatenate([one.holed, other.holed]),
    )


def reader(division: str | None = "Sail", round_: str = "One") -> Reader:
    return Reader(division, round_, Bag(), demo_caddie())


def table(event: Event, results: EventResults, own: OwnWind | None = None) -> HoleTable:
    hole = event.holes[1]
    who = reader() if own is not None else reader(None)
    return _table(event, hole, results, HoleTally([], []), {}, who, own)


def test_none_of_four_leads_nothing() -> None:
    event = cup(line("A"), line("B"))
    results = event_results([members(event, "A", (0, 3), (0, 1))])
    assert compare_headline(table(event, results)) == "nothing has gone in yet"


def test_a_retired_line_is_shown_and_never_named() -> None:
    event = cup(line("A"), line("B", "retired"), line("C", "retired"))
    results = event_results(
        [
            members(event, "A", (2, 8), (1, 6), (2, 7)),
            members(event, "B", (8, 8), (6, 6), (7, 7)),
        ]
    )
    shown = table(event, results)
    assert shown.verdict is not None and "B" not in shown.verdict.lines
    assert [(row.variant, row.all.best) for row in shown.rows] == [("A", 1.0), ("B", None)]
    assert compare_headline(shown) == "line A leads"


def test_a_line_of_another_division_is_out_of_play() -> None:
    event = cup(line("A"), line("B", divisions=("Oar",)))
    key = event.key.hole(2)
    results = event_results(
        [members(event, "A", (1, 6), (1, 7)), members(event, "B", (6, 6), (5, 5), (4, 5))]
    )
    for division, named in (("Sail", ("A",)), ("Oar", ("B",)), (None, ("B",))):
        found = results.verdict(key, event.holes[1].lines, division=division)
        assert found is not None and found.lines == named


def test_headline_bars_and_poll_speak_of_one_verdict() -> None:
    """Where A is best in the reader's wind and B in all, each says which winds it means."""
    event = cup(line("A"), line("B"))
    far = "25 mph from 12"
    a = together(
        members(event, "A", (6, 6), (5, 6), (6, 7), (5, 5), wind=TESTED),
        members(event, "A", (0, 9), (0, 9), (1, 9), (0, 8), wind=far),
    )
    b = together(
        members(event, "B", (5, 5), (8, 9), (6, 7), (9, 9), wind=far),
        members(event, "B", (0, 6), (0, 6), (0, 5), (1, 7), wind=TESTED),
    )
    results = event_results([a, b])
    hole, key = event.holes[1], event.key.hole(2)
    for text in (TESTED, far):
        own = reader().own_wind(hole, text)
        assert own is not None
        mine = table(event, results, own)
        best = "A" if text == TESTED else "B"
        assert compare_headline(mine) == f"line {best} is the best"
        assert mine.rows[0].variant == best
        scene = bars_of(mine)
        assert scene is not None and mine.verdict is not None
        rows = {row.name: row for row in mine.verdict.rows}
        assert [(bar.label, bar.value) for bar in scene.bars] == [
            (row.variant, rows[row.variant].rate) for row in mine.rows
        ]
        assert scene.subtitle.endswith("in winds like yours") and "90%" in scene.interval
    everywhere = table(event, results)
    verdict = results.verdict(key, hole.lines)
    assert everywhere.verdict == verdict and verdict is not None
    said = results_words(PollOutcome((), 0, on_lines=True, verdict=verdict))
    assert verdict.lines == ("B",) and " B" in said and "B" in compare_headline(everywhere)


def test_lines_with_as_much_are_equal_in_every_place() -> None:
    event = cup(line("A"), line("B"))
    came = ((7, 20), (6, 20), (8, 20), (6, 20), (7, 20), (7, 20))
    results = event_results([members(event, v, *came) for v in "AB"])
    found = table(event, results)
    assert compare_headline(found) == "lines A and B are about equal"
    assert verdict_letters(found.verdict) == "A = B"


def row(number: int, tries: int, holed: int, rate: float | None) -> HoleRow:
    return HoleRow(number, 2, tries, holed, "–", None, rate)


def test_a_hole_where_every_try_went_in_loses_nothing() -> None:
    rows = (row(1, 1, 1, 0.5), row(2, 9, 3, 0.35), row(3, 0, 0, None), row(4, 8, 7, 0.8))
    assert [each.number for each in RoundTable(cup(), rows).worst] == [2, 4]


def test_words_of_a_verdict() -> None:
    rows = tuple(LineRow(v, 3.0, 9.0, 2, 0.34, 0.2, 0.5, 0.5) for v in "AB")
    leads = Verdict(Outcome.LEADS, ("B",), 0.834, 18, rows)
    assert verdict_line(leads) == "line B leads (83% to be the best)"
    equal = replace(leads, outcome=Outcome.EQUAL, lines=("A", "B"), chance=0.71)
    assert verdict_line(equal) == "lines A and B are about equal (71% within five in a hundred)"
    none = replace(leads, outcome=Outcome.NONE, lines=(), chance=0.0)
    assert verdict_line(none) == verdict_words(none) == "no line is clearly ahead yet"
    assert verdict_letters(none) == verdict_letters(None) == "–"
    assert [chance_words(c) for c in (0.0, 0.003, 0.42, 0.996, 1.0)] == [
        "0%",
        "under 1%",
        "42%",
        "over 99%",
        "100%",
    ]


def test_what_the_group_is_like_is_learned_once_until_a_result_comes_in() -> None:
    event = cup(line("A"))
    first = event_results([members(event, "A", (1, 3), (2, 9))])
    again = event_results([members(event, "A", (1, 3), (2, 9), wind=TESTED)])
    other = event_results([members(event, "A", (1, 3), (3, 9))])
    assert first.group is again.group and other.group is not first.group
    assert other.group.mean > first.group.mean


# What to test next


def test_practice_offers_lines_of_the_division_in_play_in_this_rounds_wind() -> None:
    event = cup(line("A"), line("B", divisions=("Oar",)), line("C"), line("D", "retired"))
    far = "25 mph from 12"
    results = event_results(
        [
            members(event, "A", (4, 9), (5, 9), wind=TESTED),
            members(event, "C", (18, 20), (19, 20), (17, 20), wind=far),
        ]
    )
    sail = plan_of(event, results, reader("Sail"), 10)
    assert sail.letters == {2: ("A", "C")}
    # C was good in another wind only: worth a test here, where the results in all winds settle it.
    assert sail.plan.allocations[0].variant == 1
    everywhere = plan_of(event, results, reader(None), 10)
    assert everywhere.letters == {2: ("A", "B", "C")}
    assert sail.leaders is not None and sail.leaders.rates[0] < 0.7
    assert everywhere.leaders is not None and max(everywhere.leaders.rates) > 0.8
    with pytest.raises(InputError, match="No hole has two lines"):
        plan_of(cup(line("A"), line("B", divisions=("Oar",))), event_results([]), reader(), 10)


def test_ten_entries_on_a_hole_nobody_tried_promise_no_three_quarters_of_a_hole() -> None:
    event = cup(*(line(v) for v in "ABCD"))
    holes = tuple(replace_number(event.holes[1], n) for n in range(1, 10))
    whole = event.model_copy(update={"holes": holes})
    gain = plan_of(whole, event_results([]), reader(), 10).plan.gain
    assert 0.05 < gain < 0.35


def replace_number(hole: Hole, number: int) -> Hole:
    return hole.model_copy(update={"number": number})


# Fits you better


def own_lines() -> tuple[AdaptedLine, AdaptedLine, AdaptedLine]:
    """A recommended and wide, B an idea and narrow, C tested and narrow, for one member."""
    wide = moved(read_line_of("6-iron, 140", status="recommended"), "19 mph from 9")
    idea = moved(read_line_of("6-iron, 140", status="idea", variant="B"), "8 mph from 2")
    tested = moved(read_line_of("6-iron, 140", status="tested", variant="C"), "8.2 mph from 2")
    assert idea.margin_yd < tested.margin_yd < 0.5 * wide.margin_yd
    return wide, idea, tested


def verdict_of(outcome: Outcome, *named: str, **rates: float) -> Verdict:
    rows = tuple(LineRow(v, 3.0, 9.0, 2, rate, 0.1, 0.7, 0.3) for v, rate in rates.items())
    return Verdict(outcome, named, 0.8, 27, rows)


def test_an_untried_idea_is_never_pushed_over_a_recommended_line() -> None:
    wide, idea, tested = own_lines()
    same = verdict_of(Outcome.NONE, A=0.3, B=0.3, C=0.3)
    assert better_line(wide, [wide, idea, tested], None) is None
    assert better_line(wide, [wide, idea, tested], same) is None
    assert better_line(wide, [wide, idea], verdict_of(Outcome.LEADS, "B", A=0.3, B=0.4)) is None


def test_results_weigh_before_margins() -> None:
    wide, idea, tested = own_lines()
    lines = [wide, idea, tested]
    best = verdict_of(Outcome.BEST, "B", A=0.2, B=0.7, C=0.2)
    assert better_line(wide, lines, best) is idea
    ahead = verdict_of(Outcome.LEADS, "A", A=0.5, B=0.3, C=0.3)
    assert better_line(tested, lines, ahead) is wide
    assert better_line(wide, lines, ahead) is None
    # of the same standing, a surer one, unless it is expected to hole less often
    other = replace(wide, line=replace(wide.line, line=tested.line.line))
    alike = verdict_of(Outcome.NONE, A=0.3, C=0.31)
    assert better_line(other, [other, idea], verdict_of(Outcome.NONE, B=0.3, C=0.3)) is None
    twin = replace(idea, line=tested.line)
    moved_twin = replace(
        twin, line=replace(twin.line, line=twin.line.line.model_copy(update={"variant": "A"}))
    )
    assert better_line(other, [other, moved_twin], alike) is moved_twin
    poor = verdict_of(Outcome.NONE, A=0.2, C=0.31)
    assert better_line(other, [other, moved_twin], poor) is None
