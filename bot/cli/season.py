"""Two weeks of an invented season for the practice ground: bags, results, a shared shot, a poll.

The members play an invented game whose wind does a little more than the computed law and whose
hits spread; so what is learned, compared and offered on the first evening is what it would be of a
real group. Nothing is written past the services that real members use.
"""

import asyncio
import math
import random
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from bot.app import Leeward
from bot.commands.results.cog import ResultsCog
from bot.services.caddie.adapt import read_line, read_wind
from bot.services.caddie.caddie import Caddie
from bot.services.members import BagCache, grades_to_set
from bot.services.results.outcome import Outcome, read_outcome
from bot.services.results.service import ResultService, Try
from bot.services.results.shot import ShotFacts, shot_facts
from shared.actor import Actor
from shared.bag import Bag
from shared.book import Event, Hole, Line
from shared.errors import LeewardError
from shared.kit import Kit
from shared.quantities import Wind
from shared.units import METRES_PER_YARD

if TYPE_CHECKING:
    from bot.practice_ground.simulated import Ground

MEMBERS = (
    *("Wilma", "Barnaby", "Odile", "Fergus", "Prudence", "Casimir"),
    *("Ottoline", "Lambert", "Hester", "Ignatius", "Mabel", "Quentin"),
)
DAYS, A_DAY = 14, 11
SEED = 20270301
GAME = (1.15, 1.1)  # what the invented game's wind does, along and across, over the law
SPREAD = (0.011, 0.008)  # standard deviations of a hit as shares of its carry
HOLE_M = 1.1  # what comes down this near goes in: the invented game's funnel
UNMEASURED = 0.15  # of the misses, told by their side alone
SHARER, SHARED = (
    "Wilma",
    {
        "hole": 3,
        "shot": "driver, 222 aim 5 left; 4-iron, 168 aim 5 left",
        "wind": "10 mph from 11",
        "result": "in",
        "remark": "Higher over the wall, the second ran in.",
    },
)
VOTERS = 7


@dataclass(frozen=True)
class _Choice:
    """Who plays what, when: drawn before anything is computed."""

    member: str
    hole: Hole
    line: Line
    wind: str
    at: datetime


async def play_season(ground: "Ground", event_name: str) -> None:
    """Give the members bags and divisions, log what they hit, and share a shot."""
    bot = ground.bot
    assert isinstance(bot, Leeward) and bot.services is not None
    services, community = bot.services, ground.guild.id
    dice = random.Random(SEED)
    event = await services.book.event(community, event_name)
    kit = (await services.kits.caddie(community)).kit
    ids = {name: ground.others[name].id for name in MEMBERS}
    for place, name in enumerate(MEMBERS):
        await services.book.set_division(community, ids[name], _division(event, place))
        await _own(services.bags, community, ids[name], kit, place)
    log = bot.get_cog("ResultsCog")
    assert isinstance(log, ResultsCog)
    results = log.service
    choices = _choices(event, dice, services.db.now())
    for number, choice in enumerate(choices, start=1):
        who = Actor(community, ids[choice.member], choice.member)
        await _log(results, who, event, choice, dice, number)
    await results.learn(community)


async def share_and_ask(ground: "Ground") -> None:
    """Have a member share a shot, the coach ask the group, and some of it vote."""
    channel = next(iter(ground.channels.values()))
    await ground.others[SHARER].slash(channel, "share", **SHARED)
    asked = {"hole": 3, "time": "2 days", "division": "Sail"}
    await ground.members["Rosalind"].slash(channel, "poll hole", **asked)
    for message in channel.history():
        for place, name in enumerate(MEMBERS[:VOTERS] if message.poll else ()):
            await ground.others[name].vote(message, answer=1 + place % 2)


def _division(event: Event, place: int) -> str:
    return event.divisions[place % len(event.divisions)]


async def _own(bags: BagCache, community: int, member: int, kit: Kit, place: int) -> None:
    """A bag of grades that many clubs have, another one for every third member."""
    names = [grade.name for grade in kit.clubs[0].grades]
    grades = grades_to_set(kit=kit, club=None, grade=names[place % len(names)])
    await bags.change(community, member, grades=grades)


def _choices(event: Event, dice: random.Random, now: datetime) -> list[_Choice]:
    """What is played, in order of time; the best line of a hole most often."""
    found: list[_Choice] = []
    for day in range(DAYS):
        start = now - timedelta(days=DAYS - day)
        minutes = sorted(dice.sample(range(20 * 60), A_DAY))
        for minute in minutes:
            place = dice.randrange(len(MEMBERS))
            division, hole = _division(event, place), dice.choice(event.holes)
            lines = hole.lines_for(division)
            wind = hole.wind(division=division, round_=event.rounds[0])
            if lines and wind:
                line = lines[min(int(dice.expovariate(1.0)), len(lines) - 1)]
                at = start + timedelta(minutes=minute)
                found.append(_Choice(MEMBERS[place], hole, line, wind, at))
    return found


async def _log(
    results: ResultService,
    who: Actor,
    event: Event,
    choice: _Choice,
    dice: random.Random,
    number: int,
) -> None:
    caddie = await results.kits.caddie(who.community_id)
    bag = await results.bags.get(who.community_id, who.member_id)
    try:
        facts = await asyncio.to_thread(_facts, caddie, choice, bag)
    except LeewardError:
        return
    played = Try(event.name, choice.hole.number, choice.line.variant, choice.wind)
    said = _came(facts, dice)
    await results.log(who, played, said, interaction_id=number, at=choice.at)


def _facts(caddie: Caddie, choice: _Choice, bag: Bag) -> ShotFacts:
    bearing = choice.hole.bearing_deg
    line = read_line(line=choice.line, kit=caddie.kit, bearing_deg=bearing)
    wind: Wind = read_wind(text=choice.wind, kit=caddie.kit, bearing_deg=bearing)
    came: Outcome = read_outcome("missed", units="yards", mark=caddie.kit.mark.name)
    return shot_facts(caddie=caddie, line=line, bag=bag, wind=wind, outcome=came)


def _came(facts: ShotFacts, dice: random.Random) -> str:
    """What became of a shot in the invented game, as its member types it."""
    aim, effect = facts.aim_cm or (0, 0), facts.effect_cm or (0, 0)
    miss_m = [
        (aim[way] + GAME[way] * effect[way] + SPREAD[way] * facts.carry_cm * dice.gauss(0, 1)) / 100
        for way in (0, 1)
    ]
    if math.hypot(*miss_m) <= HOLE_M:
        return "in"
    long, right = (value / METRES_PER_YARD for value in miss_m)
    if dice.random() < UNMEASURED:
        return "long" if long > 0 else "short"
    words = f"{abs(long):.1f} yd {'long' if long > 0 else 'short'}"
    return f"{words}, {abs(right):.1f} yd {'right' if right > 0 else 'left'}"
