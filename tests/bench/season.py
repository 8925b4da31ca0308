"""A season against both databases: ``python -m tests.bench.season [--results N] [--only KIND]``.

Two hundred members in forty communities log results on nine holes, vote, and have notes wanted.
What a member waits for is asked by the real services at ten results a community and again at the
end, in turns over the communities: a question, the sums behind a note, the card of a club, a
result logged. What is printed is the ratio of the two costs (each path is to cost the same at ten
results and at a hundred thousand), the throughput beside that of a bare write of one row in the
same database, and the memory of the process at start and end. Exits with 1 where a ratio misses
its bound. The results between are put in as rows with their sums, as many in one transaction as
keeps it short: logging each by itself would measure the disk's patience.
"""

import argparse
import asyncio
import random
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable
from pathlib import Path

from sqlalchemy import Connection

from bot.services.learning.trust_service import TrustService
from bot.services.wind.service import WindService
from bot.settings import Settings
from bot.wiring import Services, open_services
from storage.outbox import Outbox
from storage.played import Part, Played
from storage.polls import Polls
from storage.results import Results, add_result
from storage.settings import CommunitySettings
from storage.tallies import Tallies
from tests.postgres import serving

COMMUNITIES, MEMBERS = 40, 200
FIRST, A_WRITE = 10, 200  # results a community at the first measuring; results in one transaction
TURNS = 120
MOST_RATIO = 2.0  # the end's median over the beginning's; a cost that grows would be hundreds
HERE = 2**60
Asked = Callable[[int], Awaitable[object]]


def played(dice: random.Random) -> Played:
    hole, variant = f"cup-1/{dice.randint(1, 9):02d}", dice.choice("ABC")
    vector = tuple(dice.randrange(999) / 128 for _ in range(14))
    return Played(
        hole_key=hole,
        line_key=f"{hole}/{variant}",
        variant=variant,
        holed=dice.random() < 0.1,
        miss_cm=(round(dice.gauss(30, 400)), round(dice.gauss(-20, 250))),
        wind_mmps=(round(dice.gauss(0, 3000)), round(dice.gauss(0, 3000))),
        club=dice.choice(("5-iron", "7-iron", "driver")),
        grade="ash",
        ball="plover",
        share=0.93,
        parts=(Part("season", dice.choice("abc"), vector),),
    )


class Season:
    """One database, its services, and the dice."""

    def __init__(self, services: Services) -> None:
        self.services = services
        self.dice = random.Random(14)
        self.logged = 0
        self.wind = WindService(kits=services.kits, bags=services.bags, told=services.told)
        self.trust = TrustService(
            db=services.db,
            kits=services.kits,
            learner=services.learner,
            decisions=services.decisions,
        )

    async def fill(self, count: int) -> float:
        """Put in results, members and communities in turns; results a second."""
        db, began, left = self.services.db, time.perf_counter(), count
        while left:
            some = [played(self.dice) for _ in range(min(A_WRITE, left))]
            first, community = self.logged, HERE + (self.logged // A_WRITE) % COMMUNITIES

            def fn(
                connection: Connection,
                some: list[Played] = some,
                first: int = first,
                community: int = community,
            ) -> None:
                for number, each in enumerate(some, start=first):
                    add_result(
                        connection,
                        community,
                        each,
                        member_id=number % MEMBERS,
                        author_name="M",
                        interaction_id=number,
                        attempt=None,
                        at=db.now(),
                    )

            await db.write(fn)
            self.logged, left = self.logged + len(some), left - len(some)
        return count / (time.perf_counter() - began)

    def paths(self) -> dict[str, Asked]:
        """What a member waits for, each asked for a community."""
        each = self.services
        return {
            "question": lambda turn: self.wind.reply(
                community_id=HERE + turn % COMMUNITIES,
                member_id=turn,
                text=f"{5 + turn % 90 / 10} mph from 2, 5-iron, {120 + turn % 40}",
            ),
            "note's sums": lambda turn: Tallies(each.db).of_holes(
                HERE + turn % COMMUNITIES, [f"cup-1/{1 + turn % 9:02d}"]
            ),
            "/trust": lambda turn: self.trust.report(HERE + turn % COMMUNITIES, "7-iron"),
            "own results": lambda turn: Results(each.db).of_member(
                HERE + turn % COMMUNITIES, turn % MEMBERS
            ),
            "result logged": self._log,
            "bare write": lambda turn: CommunitySettings(each.db).set(HERE, bare=turn),
        }

    async def _log(self, turn: int) -> object:
        self.logged += 1
        return await Results(self.services.db).add(
            HERE + turn % COMMUNITIES,
            played(self.dice),
            member_id=turn % MEMBERS,
            author_name="M",
            interaction_id=self.logged + 10**9,
        )

    async def costs_ms(self) -> dict[str, list[float]]:
        """What each path takes, in turns, so that what else goes on hits all alike."""
        paths = self.paths()
        found: dict[str, list[float]] = {name: [] for name in paths}
        for turn in range(TURNS):
            for name, ask in paths.items():
                began = time.perf_counter()
                await ask(turn)
                found[name].append(1000 * (time.perf_counter() - began))
        return found

    async def vote_and_publish(self) -> None:
        """A poll in each community with everybody's vote, and nine notes."""
        polls, boxes = Polls(self.services.db), Outbox(self.services.db)
        for number in range(COMMUNITIES):
            await polls.create(
                HERE + number,
                5,
                question="Which line?",
                answers=["A", "B"],
                closes_at=self.services.db.now(),
                hole_key="cup-1/04",
                message_id=10**6 + number,
            )
            for member in range(0, MEMBERS, 40):
                await polls.vote(10**6 + number, member, 1 + member % 2, added=True)
            for hole in range(1, 10):
                key = f"note/cup-1/{hole:02d}"
                await boxes.want(HERE + number, key, 7, {"text": f"hole {hole}"})


def memory_mb() -> float:
    """The most this process has held so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


async def season(kind: str, url: str, count: int) -> bool:
    """Play one; whether every ratio keeps its bound."""
    services = await open_services(Settings(database=url, draw_in_thread=True))
    try:
        play, at_start = Season(services), memory_mb()
        await play.vote_and_publish()
        await play.fill(FIRST * COMMUNITIES)
        await play.costs_ms()  # warm
        few = await play.costs_ms()
        rate = await play.fill(count)
        many = await play.costs_ms()
        return report(kind, few, many, rate, play.logged, (at_start, memory_mb()))
    finally:
        await services.pictures.pool.close()
        await services.db.close()


def report(
    kind: str,
    few: dict[str, list[float]],
    many: dict[str, list[float]],
    rate: float,
    logged: int,
    memory: tuple[float, float],
) -> bool:
    """Print a season; whether every ratio keeps its bound."""
    print(f"{kind}: {logged} results, {rate:.0f}/s in transactions of {A_WRITE}")
    bare = statistics.median(many["bare write"])
    held = True
    for name, after in many.items():
        ratio = statistics.median(after) / statistics.median(few[name])
        held &= ratio <= MOST_RATIO
        slow = statistics.quantiles(after, n=100)[98]
        print(
            f"  {name:<14} {statistics.median(after):7.2f} ms (99%: {slow:7.2f}),"
            f" {ratio:5.2f} times its cost at {FIRST} results a community,"
            f" {statistics.median(after) / bare:6.2f} bare writes"
        )
    print(f"  memory at most: {memory[0]:.0f} MB at the start, {memory[1]:.0f} MB at the end")
    return held


async def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--results", type=int, default=100_000)
    parser.add_argument("--only", choices=("sqlite", "postgresql"))
    options = parser.parse_args()
    held = True
    if options.only != "postgresql":
        with tempfile.TemporaryDirectory() as folder:
            url = f"sqlite:///{Path(folder) / 'season.db'}"
            held &= await season("SQLite", url, options.results)
    if options.only != "sqlite":
        with serving() as server:
            held &= await season("PostgreSQL", server.url(server.create()), options.results)
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(asyncio.run(main()))
