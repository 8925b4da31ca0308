"""A season against both databases: ``python -m tests.bench.season [--results N] [--only KIND]``.

Two hundred members in forty communities log results on nine holes, vote, and have notes wanted.
What a member waits for is asked by the real services at ten results a community and again at the
end, in turns over the communities: a question, the sums behind a note, the card of a club, a
result logged. What is printed is the ratio of the two costs (each path is to cost the same at ten
results and at a hundred thousand), by the wall and by processor time of this process and of the
server's that work for it, which other programs on the machine move little; the bound is on the
latter. Beside them the throughput, a bare write of one row in the same database, what a result
takes on the disk, and the memory of the process at start and end. Exits with 1 where a ratio
misses its bound. The results between are put in as rows with their sums, as many in one
transaction as keeps it short: logging each by itself would measure the disk's patience.
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

from sqlalchemy import Connection, text

from bot.services.learning.trust_service import TrustService
from bot.services.wind.service import WindService
from bot.settings import Settings
from bot.wiring import Services, open_services
from storage.backup import backup
from storage.outbox import Outbox
from storage.played import Part, Played
from storage.polls import Polls
from storage.results import Results, add_result
from storage.settings import CommunitySettings
from storage.status import status_of
from storage.tallies import Tallies
from tests.postgres import serving

COMMUNITIES, MEMBERS = 40, 200
FIRST, A_WRITE = 10, 200  # results a community at the first measuring; results in one transaction
TURNS = 120
MOST_RATIO = 2.0  # the end's median over the beginning's; a cost that grows would be hundreds
HERE = 2**60
Asked = Callable[[int], Awaitable[object]]
Cost = tuple[float, float]  # by the wall, of the processor; milliseconds


class Processor:
    """Processor time of this process and of a server's that serve it, in seconds."""

    def __init__(self, pids: list[int]) -> None:
        self._pids = pids

    def spent_s(self) -> float:
        """So far; the server's by Linux's own account in nanoseconds."""
        server = sum(
            int(Path(f"/proc/{pid}/schedstat").read_text().split()[0]) for pid in self._pids
        )
        return time.process_time() + server / 1e9


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

    def __init__(self, services: Services, url: str) -> None:
        self.services = services
        self.url = url
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
            "question": self._ask,
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

    async def _ask(self, turn: int) -> None:
        """An answer, and what was told kept, for which no member waits."""
        await self.wind.reply(
            community_id=HERE + turn % COMMUNITIES,
            member_id=turn,
            text=f"{5 + turn % 90 / 10} mph from 2, 5-iron, {120 + turn % 40}.{self.logged}",
        )
        await self.services.told.all_kept()

    async def _log(self, turn: int) -> object:
        self.logged += 1
        return await Results(self.services.db).add(
            HERE + turn % COMMUNITIES,
            played(self.dice),
            member_id=turn % MEMBERS,
            author_name="M",
            interaction_id=self.logged + 10**9,
        )

    async def costs_ms(self) -> dict[str, list[Cost]]:
        """What each path takes, in turns, so that what else goes on hits all alike."""
        paths, processor = self.paths(), Processor(await self._server_pids())
        found: dict[str, list[Cost]] = {name: [] for name in paths}
        for turn in range(TURNS):
            for name, ask in paths.items():
                began, spent = time.perf_counter(), processor.spent_s()
                await ask(turn)
                wall, cpu = time.perf_counter() - began, processor.spent_s() - spent
                found[name].append((1000 * wall, 1000 * cpu))
        return found

    async def _server_pids(self) -> list[int]:
        if self.url.startswith("sqlite"):
            return []
        query = text("SELECT pid FROM pg_stat_activity WHERE datname = current_database()")
        rows = await self.services.db.read(
            lambda connection: connection.execute(query).scalars().all()
        )
        return [int(pid) for pid in rows]

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
    services = await open_services(Settings(database=url, one_process=True))
    try:
        play, at_start = Season(services, url), memory_mb()
        await play.vote_and_publish()
        await play.fill(FIRST * COMMUNITIES)
        await play.costs_ms()  # warm
        few, bytes_few = await play.costs_ms(), status_of(url).bytes
        rate = await play.fill(count)
        many = await play.costs_ms()
        held = report(kind, few, many, rate, play.logged)
        size = status_of(url).bytes
        print(f"  on the disk {(size - bytes_few) / count:.0f} bytes a result")
        with tempfile.TemporaryDirectory() as folder:
            began = time.perf_counter()
            kept = await asyncio.to_thread(backup, url, Path(folder))
            took = time.perf_counter() - began
            print(
                f"  a backup of {size / 1e6:.0f} MB into {kept.stat().st_size / 1e6:.0f} MB:",
                end="",
            )
            print(f" {took:.1f} s, {took / size * 1e9:.0f} s a gigabyte")
        print(f"  memory at most: {at_start:.0f} MB at the start, {memory_mb():.0f} MB at the end")
        return held
    finally:
        await services.pictures.pool.close()
        await services.db.close()


def report(
    kind: str,
    few: dict[str, list[Cost]],
    many: dict[str, list[Cost]],
    rate: float,
    logged: int,
) -> bool:
    """Print a season; whether every ratio keeps its bound."""
    print(f"{kind}: {logged} results, {rate:.0f}/s in transactions of {A_WRITE}")
    print(f"  times: at the end over those at {FIRST} results a community")
    bare = statistics.median(wall for wall, _ in many["bare write"])
    held = True
    for name in many:
        walls, cpus = zip(*many[name], strict=True)
        walls_few, cpus_few = zip(*few[name], strict=True)
        wall, cpu = statistics.median(walls), statistics.median(cpus)
        ratio = cpu / statistics.median(cpus_few)
        held &= ratio <= MOST_RATIO
        slow = statistics.quantiles(walls, n=100)[98]
        print(
            f"  {name:<14} {wall:7.2f} ms (99%: {slow:7.2f}),"
            f" {wall / statistics.median(walls_few):5.2f} times, {wall / bare:6.2f} bare writes;"
            f" processor {cpu:6.2f} ms, {ratio:5.2f} times"
        )
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
