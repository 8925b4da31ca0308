"""An answer's card: its words, and that a phone shows it whole."""

import re
import textwrap
from typing import Any

import discord
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.chat.message import answer_embed, plain_embed, why_embed
from bot.commands.bag.card import bag_embed
from bot.commands.help.cog import help_embed
from bot.commands.kit.cards import kit_embed
from bot.commands.wind.equal_card import equal_embed
from bot.services.caddie.equivalents import equivalents
from shared.answer import Allowance, Answer, FlightFacts, GroundFacts, IfWind, Margin, Offset
from shared.answer_text import FOR_WHOM, FOR_WHOM_ROW, answer_lines, headline, suggestion
from shared.bag import Bag
from shared.quantities import Speed, Wind
from shared.shot import Shot
from shared.shot_text import parse
from shared.units import UnitSystem
from tests.kits import demo_caddie, demo_kit

# On a phone an embed wraps at about 40 columns. A line is 19 px high on the practice ground's page
# at 390 by 844 px, so that 25 lines take 475 px and leave the rest to the app's own bars.
COLUMNS = 40
PHONE_LINES = 25

WIND = Wind(speed=Speed(value=9), from_deg=300)
LONGEST_NAME = "W" * 40  # as long as a kit's names may be


def made_answer(**changed: Any) -> Answer:
    """An answer with numbers that no two of are alike."""
    fields: dict[str, Any] = {
        "shot": parse("9 mph from 10, 7-iron (oak), 118 yd", kit=demo_kit()),
        "text": "9 mph from 10, 7-iron (oak), 118 yd",
        "kit": "k",
        "club": "7-iron",
        "grade": "oak",
        "ball": "tern",
        "law": "flight",
        "allowance": Allowance(right_yd=-6.21, long_yd=2.34, right_marks=-4.56, long_marks=1.72),
        "distance_yd": 118.0,
        "plays_yd": 120.6,
        "share": 0.825,
        "swing_share": 0.843,
        "setup_yd": -22.4,
        "flight": FlightFacts(
            time_s=4.84, apex_yd=23.4, landing_deg=44.6, drift_right_yd=6.21, drift_long_yd=-2.34
        ),
        "if_wind": IfWind(
            per_mph=Offset(right_yd=-0.81, long_yd=0.44),
            per_10_deg=Offset(right_yd=0.33, long_yd=1.12),
        ),
        "margin": Margin(
            right_yd=1.55, long_yd=0.59, right_marks=1.14, long_marks=0.43, source="why so"
        ),
        "margin_yd": 1.66,
        "mark_yd": 1.36,
        "help_turns": False,
    }
    return Answer(**(fields | changed))


def shown_lines(embed: discord.Embed) -> int:
    """How many lines of a phone the embed takes."""
    texts = [embed.title or "", *(embed.description or "").split("\n"), embed.footer.text or ""]
    plain = [re.sub(r"\*\*|\*|`", "", text) for text in texts]
    return sum(max(1, len(textwrap.wrap(text, COLUMNS))) for text in plain)


# Words


def test_the_lines_of_an_answer_in_yards() -> None:
    lines = answer_lines(made_answer(), units="yards", mark="mark")
    assert lines.headline == "7-iron · set up 121 yd (full −22, 84%) · aim 4.6 marks left, 1.7 long"
    assert lines.inside == "9 mph from 10 · 118 yd · ± 1.1 across, 0.4 along (90%)"
    assert lines.more == ("6.2 yd left, 2.3 long · 1 mph more 0.6 marks left, 0.3 long · tern ball")
    assert lines.asked == "9 mph from 10, 7-iron (oak), 118 yd (tern ball)"
    assert lines.rows == (
        ("Plays", "121 yd for 118 yd: set up full −22 yd (share 84%)"),
        ("Drift", "6.2 yd right, 2.3 short; 4.8 s up, apex 23 yd, lands at 45°"),
        ("1 mph more", "0.6 marks (0.8 yd) left, 0.3 (0.4 yd) long"),
        ("10° clockwise", "0.2 marks (0.3 yd) right, 0.8 (1.1 yd) long"),
        ("Margin", "± 1.6 yd (1.1 marks) across, ± 0.6 yd (0.4) along (90%); why so"),
    )
    assert lines.footer == FOR_WHOM_ROW and len(FOR_WHOM_ROW) <= COLUMNS
    assert "4.3a" in FOR_WHOM_ROW and "video and simulator golf" in FOR_WHOM


def test_the_lines_of_an_answer_in_metres() -> None:
    lines = answer_lines(made_answer(), units="metric", mark="tick")
    assert lines.headline == "7-iron · set up 110 m (full −20, 84%) · aim 4.6 ticks left, 1.7 long"
    assert lines.inside == "4 m/s from 10 · 108 m · ± 1.1 across, 0.4 along (90%)"
    assert lines.more.startswith("5.7 m left, 2.1 long · 1 m/s more 1.3 ticks left, 0.7 long")
    rows = dict(lines.rows)
    assert rows["Plays"] == "110 m for 108 m: set up full −20 m (share 84%)"
    # A metre a second is 2.23694 mph.
    assert rows["1 m/s more"] == "1.3 ticks (1.7 m) left, 0.7 (0.9 m) long"
    assert rows["10° clockwise"] == "0.2 ticks (0.3 m) right, 0.8 (1.0 m) long"
    assert rows["Margin"].startswith("± 1.4 m (1.1 ticks) across")


def test_the_grade_and_ball_that_were_not_said_are_added() -> None:
    unsaid = made_answer(shot=Shot(wind=WIND), text="9 from 10, 7-iron, 118 yd")
    assert answer_lines(unsaid, units="yards", mark="m").asked == (
        "9 from 10, 7-iron, 118 yd (oak, tern ball)"
    )
    both = made_answer(shot=Shot(wind=WIND, grade="oak", ball="tern"), text="all said")
    assert answer_lines(both, units="yards", mark="m").asked == "all said"
    gone = made_answer(shot=Shot(wind=WIND, grade="elm", ball="tern"), text="7-iron (elm)")
    assert answer_lines(gone, units="yards", mark="m").asked == "7-iron (elm) (oak)"


def test_what_is_next_to_nothing_is_left_out() -> None:
    none = Allowance(right_yd=0.0, long_yd=0.02, right_marks=0.0, long_marks=0.01)
    calm = made_answer(
        allowance=none,
        setup_yd=0.3,
        if_wind=IfWind(
            per_mph=Offset(right_yd=0.0, long_yd=0.7), per_10_deg=Offset(right_yd=0, long_yd=0)
        ),
        margin=Margin(right_yd=0, long_yd=0, right_marks=0, long_marks=0, source="why so"),
    )
    lines = answer_lines(calm, units="yards", mark="mark")
    rows = dict(lines.rows)
    assert lines.headline.endswith(" · aim straight") and lines.more.startswith("1 mph more 0.5")
    assert "set up full carry" in rows["Plays"]
    assert rows["1 mph more"] == "0.5 marks (0.7 yd) long" and rows["10° clockwise"] == "no change"
    assert rows["Margin"] == "next to nothing (90%); why so"


def test_a_chart_beyond_the_flight_says_so_and_notes_are_shown() -> None:
    answer = made_answer(flight=None, law="chart", notes=("the kit no longer has elm",))
    lines = answer_lines(answer, units="yards", mark="mark")
    assert dict(lines.rows)["Drift"].startswith("not flown")
    for embed in (answer_embed(lines), why_embed(lines)):
        assert embed.title == lines.headline and embed.footer.text == FOR_WHOM_ROW
        assert (embed.description or "").splitlines()[-1] == "*the kit no longer has elm*"
    assert (embed.description or "").splitlines()[2].startswith("**Plays** 121 yd")


def test_a_card_without_a_footer_has_none() -> None:
    assert plain_embed("T", ["a", "b"]).footer.text is None
    assert plain_embed("T", ["a", "b"], "f").footer.text == "f"
    assert plain_embed("T", ["a", "b"]).description == "a\nb"


# Suggestions


def test_a_suggestion_is_the_answer_in_one_line() -> None:
    assert suggestion(made_answer(), units="yards", mark="mark") == (
        "Aim 4.6 marks left, 1.7 long · plays 121 yd · 7-iron (oak)"
    )
    assert "plays 110 m" in suggestion(made_answer(), units="metric", mark="mark")


@pytest.mark.parametrize("units", ["yards", "metric"])
def test_a_suggestion_stays_under_100_characters_and_says_the_aim_whole(units: UnitSystem) -> None:
    aim = Allowance(right_yd=-450.0, long_yd=-449.9, right_marks=-199.9, long_marks=-198.7)
    answer = made_answer(
        allowance=aim, plays_yd=560.0, club=LONGEST_NAME, grade=LONGEST_NAME, ball=LONGEST_NAME
    )
    line = suggestion(answer, units=units, mark=LONGEST_NAME)
    assert len(line) < 100
    assert line.startswith(f"Aim 199.9 {LONGEST_NAME}s left, 198.7 short · plays ")


@given(
    right=st.floats(-200, 200),
    long=st.floats(-200, 200),
    club=st.text("abcdefgh -'", min_size=1, max_size=40),
    grade=st.text("abcdefgh", min_size=1, max_size=40),
    mark=st.text("abcdefgh", min_size=1, max_size=40),
)
def test_no_names_or_numbers_make_a_suggestion_too_long(
    right: float, long: float, club: str, grade: str, mark: str
) -> None:
    aim = Allowance(right_yd=right, long_yd=long, right_marks=right, long_marks=long)
    line = suggestion(made_answer(allowance=aim, club=club, grade=grade), units="yards", mark=mark)
    assert 0 < len(line) < 100 and "-0.0" not in line
    first = "straight" if max(abs(right), abs(long)) < 0.05 else ""
    assert line.startswith(f"Aim {first}")


# Size


@pytest.mark.parametrize(
    "question",
    [
        "8.4 mph from 2, 5-iron, 165",
        "calm, 9-iron, 110",
        "12.25 mph from 63.4 off line, pitching wedge (yew), 88.5, up 12.5%, ball heron, "
        "back 2.5, side 1.5 left, draw 4",
    ],
)
def test_a_phone_shows_an_answer_whole(question: str) -> None:
    answer = demo_caddie().answer(shot=parse(question, kit=demo_kit()))
    for units in ("yards", "metric"):
        lines = answer_lines(answer, units=units, mark="mark")
        # The first rows leave a phone's screen to the menus and buttons below them.
        assert shown_lines(answer_embed(lines)) <= 9
        assert shown_lines(why_embed(lines)) <= PHONE_LINES - 3
        shaped = answer.shot.curve is not None
        assert len(textwrap.wrap(lines.headline, COLUMNS)) <= 2 + shaped


def test_a_phone_shows_even_the_longest_answer_whole() -> None:
    aim = Allowance(right_yd=-450.0, long_yd=-449.9, right_marks=-199.9, long_marks=-198.7)
    answer = made_answer(
        allowance=aim,
        shot=made_answer().shot.model_copy(update={"grade": LONGEST_NAME, "ball": LONGEST_NAME}),
        text=f"134.2 mph from 359.9 off line, {LONGEST_NAME} ({LONGEST_NAME}), 499.5 yd, "
        f"down 12.5%, ball {LONGEST_NAME}, back 12.5, side 12.5 left, draw 14.5 deg",
        grade=LONGEST_NAME,
        ball=LONGEST_NAME,
    )
    lines = answer_lines(answer, units="yards", mark=LONGEST_NAME)
    for embed in (answer_embed(lines), why_embed(lines)):
        assert shown_lines(embed) <= PHONE_LINES + 3
        assert len(embed.title or "") <= 256


def test_a_phone_shows_bag_kit_help_and_ways_nearly_whole() -> None:
    kit = demo_kit()
    found = equivalents(
        caddie=demo_caddie(), shot=parse("8 into, 150", kit=kit), bag=Bag(grades={"driver": "yew"})
    )
    ways = equal_embed(found, asked="8 mph from 12, 150 yd", units="yards", mark="mark")
    assert shown_lines(ways) <= PHONE_LINES
    assert shown_lines(bag_embed(Bag(grades={"driver": "yew"}, ball="tern"), kit)) <= PHONE_LINES
    assert shown_lines(kit_embed(kit, "yards")) <= PHONE_LINES
    assert shown_lines(help_embed(kit, "yards", ())) <= PHONE_LINES + 5


def test_ways_keep_all_of_ones_own_and_count_what_is_left_out() -> None:
    kit = demo_kit()
    found = equivalents(caddie=demo_caddie(), shot=parse("calm, 120", kit=kit), bag=Bag())
    own = equal_embed(found, asked="a", units="yards", mark="mark").description or ""
    owned = [each for each in found if each.owned]
    assert all(f"**{each.club}** " in own for each in owned)
    rows = [re.sub(r"\*", "", row) for row in own.split("\n") if " ± " in row][1:]
    assert max(map(len, rows)) <= COLUMNS
    assert len(re.findall(r" ± \d", own)) == len(owned) and "other set-up" not in own
    embed = equal_embed(found, asked="a", units="yards", mark="mark", every=True)
    text = embed.description or ""
    assert all(f"**{each.club} ash** " in text for each in owned)
    shown = len(re.findall(r" ± \d", text))
    assert f"*and {len(found) - shown} other set-ups*" in text and shown >= 11


def test_a_headline_is_what_the_card_and_the_terminal_start_with() -> None:
    answer = made_answer()
    said = headline(answer, units="yards", mark="mark")
    assert answer_embed(answer_lines(answer, units="yards", mark="mark")).title == said


def test_what_the_ball_does_on_the_ground_is_one_line_in_the_readers_units() -> None:
    ground = GroundFacts(
        onto="green",
        comes_down=Offset(right_yd=-0.41, long_yd=-9.83),
        carry_yd=108.2,
        first_bounce_yd=2.14,
        run_yd=9.8,
        roll_yd=6.3,
        total_yd=118.0,
    )
    shot = made_answer().shot.model_copy(update={"onto": "green"})
    lines = answer_lines(made_answer(ground=ground, shot=shot), units="yards", mark="mark")
    said = (
        "comes down 0.4 yd left, 9.8 short of the target: carry 108, run 9.8 (first bounce 2.1, "
        "roll 6.3), total 118 yd"
    )
    assert lines.ground == said and ("Ground", said) in lines.rows
    assert "118 yd, onto green" in lines.inside
    assert lines.rows[0] == ("Plays", "121 yd for 108 yd: set up full −22 yd (share 84%)")
    metric = answer_lines(made_answer(ground=ground, shot=shot), units="metric", mark="mark")
    assert metric.ground.startswith("comes down 0.4 m left, 9.0 short of the target: carry 99, ")
    assert metric.ground.endswith("total 108 m")
    assert said in (answer_embed(lines).description or "").splitlines()
    assert shown_lines(answer_embed(lines)) <= 12
