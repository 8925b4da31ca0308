"""The whole loop: twelve members ask, play a game the engine does not know, and log what it did.

The hidden games are this file's own. One takes the engine's untaught figure for a shot's wind
effect and bends it by a gain along and across for each club and grade and a bias. The other knows
nothing of flight: its wind moves a ball by a share of the distance for every mile an hour. Both
add a little spread. The members aim as Leeward tells them at that moment, and log where the ball
came down.
"""

import re
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from shared.bag import Bag
from shared.shot_text import parse
from tests.chat.booking import fill
from tests.chat.conftest import Stage
from tests.kits import demo_caddie, demo_kit

ONE_DATABASE = "360 questions and results, each of a kind that other tests keep on both"

MEMBERS, ROUNDS = 12, 10
SHOTS = (
    ("5-iron", 150),
    ("7-iron", 128),
    ("sand wedge", 62),
    ("hybrid", 168),
    ("5-iron", 141),
    ("7-iron", 117),
    ("9-iron", 104),
    ("6-iron", 139),
    ("7-iron", 122),
)
GRADES = ("ash", "oak", "yew")
SPREAD_YD = 0.3  # a game repeats itself nearly exactly
ROUNDED_YD = 0.05  # aim and margin are told in tenths
LINEAR_ROUNDS = 20


@dataclass
class HiddenGame:
    """What the game really does: gains by club grade, one bias; lengths in yards."""

    rng: np.random.Generator

    def __post_init__(self) -> None:
        self.gains: dict[tuple[str, str], np.ndarray] = {}
        self.common = np.array([1.55, 0.62])  # along, across
        self.bias = np.array([0.8, -0.5])

    def moved(self, *, question: str, grade: str) -> np.ndarray:
        """How far the game moves a ball aimed straight, (long, right), its spread aside."""
        shot = parse(question, kit=demo_kit())
        assert shot.club is not None
        bag = Bag(grades={shot.club: grade})
        law = demo_caddie().answer(shot=shot, bag=bag).allowance
        effect = -np.array([law.long_yd, law.right_yd])
        drawn = self.common + self.rng.normal(0, 0.05, 2)
        gain = self.gains.setdefault((shot.club, grade), drawn)
        return gain * effect + self.bias


@dataclass
class LinearGame:
    """A wind of w mph moves a ball of d yards by d w times a share for each direction."""

    rng: np.random.Generator
    into: float = 0.0100
    helping: float = 0.0058
    across: float = 0.0071

    def __post_init__(self) -> None:
        self.grades: dict[tuple[str, str], float] = {}

    def moved(self, *, question: str, grade: str) -> np.ndarray:
        """How far the game moves a ball aimed straight, (long, right), its spread aside."""
        wind, club, carry = question.split(", ")
        speed, hour = re.findall(r"[\d.]+", wind)
        turn = np.radians(30.0 * float(hour))
        against, from_right = float(speed) * np.cos(turn), float(speed) * np.sin(turn)
        by_grade = self.grades.setdefault((club, grade), 1 + self.rng.normal(0, 0.04))
        long = -against * (self.into if against > 0 else self.helping)
        return by_grade * float(carry) * np.array([long, -from_right * self.across])


def cup() -> bytes:
    """Nine holes, on each one line of one shot with no allowance noted."""
    rows = ['name = "Breakwater Cup"', 'divisions = ["Sail"]', 'rounds = ["Only round"]']
    for number, (club, carry) in enumerate(SHOTS, start=1):
        rows += [
            f"[[holes]]\nnumber = {number}\npar = 3\nyards = {carry}",
            '[[holes.lines]]\nvariant = "A"\nstatus = "tested"\nwind = "8 mph from 2"',
            f'[[holes.lines.shots]]\nshot = "{club}, {carry} yd"',
        ]
    return "\n".join(rows).encode()


def aim_of(card: Any) -> np.ndarray:
    """The aim an answer tells, in yards (long, right)."""
    told = card.description.splitlines()[1].partition("1 mph more")[0]
    sides = {way: float(n) for n, way in re.findall(r"([\d.]+)(?: yd)? (\w+)", told)}
    assert sides or "straight" in card.title, told
    return np.array(
        [
            sides.get("long", 0.0) - sides.get("short", 0.0),
            sides.get("right", 0.0) - sides.get("left", 0.0),
        ]
    )


def outcome(miss: np.ndarray) -> str:
    """A miss as a member types it."""
    long, right = miss
    return (
        f"{abs(long):.1f} {'long' if long > 0 else 'short'}, "
        f"{abs(right):.1f} {'right' if right > 0 else 'left'}"
    )


@dataclass
class Player:
    """A member in the middle of a hole: where, in which wind, with which grade, told which aim."""

    member: Any
    grade: str
    hole: int = 1
    wind: str = ""
    aim: np.ndarray = field(default_factory=lambda: np.zeros(2))
    margin: np.ndarray = field(default_factory=lambda: np.zeros(2))

    @property
    def question(self) -> str:
        club, carry = SHOTS[self.hole - 1]
        return f"{self.wind}, {club}, {carry}"

    async def ask(self, stage: Stage) -> None:
        asked = await self.member.slash(stage.questions, "wind", question=self.question)
        card = asked.response.embeds[0]
        self.aim = aim_of(card)
        why = (await self.member.click(asked.response, label="Why")).response.embeds[0]
        told = re.search(r"± ([\d.]+) yd [^,]+ across, ± ([\d.]+) yd", why.description)
        assert told, why.description
        self.margin = np.array([float(told[2]), float(told[1])])

    async def log(self, stage: Stage, note: Any, game: Any) -> tuple[float, np.ndarray]:
        """Play, and log where it came down; the size of the miss in yards, and by axis whether
        what the game wanted lay inside the margin that was told."""
        moved = game.moved(question=self.question, grade=self.grade)
        miss = self.aim + moved + game.rng.normal(0, SPREAD_YD, 2)
        form = await self.member.click(note, label="Missed")
        await fill(stage, self.member, form, outcome=outcome(miss), wind=self.wind)
        return float(np.hypot(*miss)), np.abs(self.aim + moved) <= self.margin + ROUNDED_YD


async def play(stage: Stage, game: Any, *, rounds: int) -> tuple[np.ndarray, np.ndarray]:
    """Rounds of twelve members: the misses (shots,), and whether each margin held (shots, 2)."""
    rng = game.rng
    await stage.coach.slash(stage.questions, "event load", file=("cup.toml", cup()))
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish")
    notes = stage.notes.history()
    players = [
        Player(stage.guild.add_member(stage.env.create_user(f"m{n}")), GRADES[n % 3])
        for n in range(MEMBERS)
    ]
    for player in players:
        await player.member.slash(stage.questions, "bag", grade=player.grade)
    played: list[tuple[float, np.ndarray]] = []
    for turn in range(rounds):  # all are out on the course at once, and log when they are in
        for n, player in enumerate(players):
            player.hole = (turn * 5 + n) % len(SHOTS) + 1
            player.wind = f"{rng.uniform(5, 13):.1f} mph from {rng.integers(1, 13)}"
            await player.ask(stage)
        for player in players:
            played.append(await player.log(stage, notes[player.hole - 1], game))
        # The interactions of this round are over: what the simulation waits for grows else.
        await stage.env.advance_time(20 * 60)
    return np.array([miss for miss, _ in played]), np.array([held for _, held in played])


async def test_a_group_that_logs_its_shots_misses_less_and_less(stage: Stage) -> None:
    misses, _ = await play(stage, HiddenGame(np.random.default_rng(2031)), rounds=ROUNDS)
    first, last = misses[:40].mean(), misses[-40:].mean()
    assert len(misses) == MEMBERS * ROUNDS
    assert last <= 0.4 * first, (first, last)
    member = stage.guild.add_member(stage.env.create_user("late"))
    asked = await member.slash(stage.questions, "wind", question="9 mph from 2, 7-iron, 120")
    assert "shots with this grade" in asked.response.embeds[0].description


async def test_in_a_game_linear_in_the_wind_a_group_comes_to_its_spread(stage: Stage) -> None:
    game = LinearGame(np.random.default_rng(77))
    misses, held = await play(stage, game, rounds=LINEAR_ROUNDS)
    first, last = misses[:MEMBERS].mean(), misses[-len(misses) // 3 :].mean()
    assert last <= 0.65 and last <= 0.4 * first, (first, last)
    assert (held.mean(axis=0) >= 0.8).all(), held.mean(axis=0)
