"""Jobs happen at their time and exactly once."""

import asyncio
import os
import signal
import subprocess
import sys
import time
from datetime import timedelta

import pytest
from sqlalchemy import Connection, text

from storage.database import Database
from storage.jobs import Job, Jobs
from tests.unit.conftest import HandClock, Opener

HERE, ELSEWHERE = 81, 82


def effects_table(connection: Connection) -> None:
    connection.execute(text("CREATE TABLE effects (job TEXT NOT NULL)"))


def effect_of(job: Job):
    return lambda connection: connection.execute(
        text("INSERT INTO effects VALUES (:job)"), {"job": job.key}
    )


def count_effects(connection: Connection) -> int:
    return connection.execute(text("SELECT count(*) FROM effects")).scalar_one()


async def test_a_job_waits_for_its_time(db: Database, clock: HandClock) -> None:
    jobs = Jobs(db)
    due = clock.time + timedelta(seconds=30)
    await jobs.schedule(HERE, "close poll", "poll 5", due_at=due, payload={"poll": 5})
    assert await jobs.claim_due() == []
    assert await jobs.next_due() == due
    clock.advance(seconds=30)
    (job,) = await jobs.claim_due()
    assert (job.community_id, job.kind, job.key, job.payload, job.due_at, job.claim) == (
        HERE,
        "close poll",
        "poll 5",
        {"poll": 5},
        due,
        1,
    )


async def test_the_longest_overdue_come_first(db: Database, clock: HandClock) -> None:
    jobs = Jobs(db)
    for key, ago in (("b", 20), ("c", 5), ("a", 60), ("later", -60)):
        await jobs.schedule(HERE, "k", key, due_at=clock.time - timedelta(seconds=ago))
    assert await jobs.next_due() == clock.time - timedelta(seconds=60)
    assert [job.key for job in await jobs.claim_due(limit=2)] == ["a", "b"]
    assert [job.key for job in await jobs.claim_due()] == ["c"]


async def test_no_jobs_is_no_time(db: Database) -> None:
    assert await Jobs(db).next_due() is None


async def test_a_claimed_job_is_nobody_elses_until_the_lease_runs_out(
    db: Database, clock: HandClock
) -> None:
    jobs = Jobs(db)
    await jobs.schedule(HERE, "k", "x", due_at=clock.time)
    (first,) = await jobs.claim_due(lease_s=60)
    clock.advance(seconds=59)
    assert await jobs.claim_due() == []
    assert await jobs.next_due() == clock.time + timedelta(seconds=1)
    clock.advance(seconds=1)
    (second,) = await jobs.claim_due()
    assert (second.id, second.claim) == (first.id, 2)


async def test_who_was_too_slow_has_no_effect(db: Database, clock: HandClock) -> None:
    await db.write(effects_table)
    jobs = Jobs(db)
    await jobs.schedule(HERE, "k", "x", due_at=clock.time)
    (slow,) = await jobs.claim_due(lease_s=10)
    clock.advance(seconds=11)
    (quick,) = await jobs.claim_due(lease_s=10)
    assert await jobs.finish(slow, effect_of(slow)) is False
    assert await db.read(count_effects) == 0
    assert await jobs.finish(quick, effect_of(quick)) is True
    assert await jobs.finish(quick, effect_of(quick)) is False
    assert await db.read(count_effects) == 1
    assert await jobs.claim_due() == [] and await jobs.next_due() is None


async def test_an_effect_that_fails_leaves_the_job_to_do(db: Database, clock: HandClock) -> None:
    await db.write(effects_table)
    jobs = Jobs(db)
    await jobs.schedule(HERE, "k", "x", due_at=clock.time)
    (job,) = await jobs.claim_due()

    def half(connection: Connection) -> None:
        effect_of(job)(connection)
        raise LookupError("no message")

    with pytest.raises(LookupError):
        await jobs.finish(job, half)
    assert await db.read(count_effects) == 0
    later = clock.time + timedelta(seconds=300)
    assert await jobs.put_off(job, "no message", until=later) is True
    assert await jobs.claim_due() == []
    clock.advance(seconds=300)
    (again,) = await jobs.claim_due()
    assert (again.claim, again.failures, again.trouble) == (2, 1, "no message")


async def test_a_job_that_fails_waits_longer_each_time(db: Database, clock: HandClock) -> None:
    jobs = Jobs(db)
    await jobs.schedule(HERE, "k", "x", due_at=clock.time)
    waits: list[float] = []
    for _ in range(10):
        (job,) = await jobs.claim_due()
        await jobs.put_off(job, "the chat is away")
        due = await jobs.next_due()
        assert due is not None
        waits.append((due - clock.time).total_seconds())
        clock.advance(seconds=waits[-1])
    assert waits == [15, 30, 60, 120, 240, 480, 960, 1920, 3600, 3600]
    (job,) = await jobs.claim_due()
    assert await jobs.finish(job, again_at=clock.time + timedelta(days=7)) is True
    weekly = await jobs.get(HERE, "k", "x")
    assert weekly is not None and (weekly.failures, weekly.trouble, weekly.done_at) == (
        0,
        None,
        None,
    )
    assert weekly.due_at == clock.time + timedelta(days=7)


async def test_what_can_never_work_is_given_up_with_its_cause(
    db: Database, clock: HandClock
) -> None:
    jobs = Jobs(db)
    await jobs.schedule(HERE, "k", "x", due_at=clock.time)
    (job,) = await jobs.claim_due()
    assert await jobs.refuse(job, "the channel is gone") is True
    assert await jobs.refuse(job, "again") is False
    ended = await jobs.get(HERE, "k", "x")
    assert ended is not None and (ended.outcome, ended.trouble) == (
        "refused",
        "the channel is gone",
    )
    clock.advance(seconds=86_400)
    assert await jobs.claim_due() == []


async def test_jobs_of_some_kinds_and_old_ones_go(db: Database, clock: HandClock) -> None:
    jobs = Jobs(db)
    for kind in ("remind", "close poll", "remind"):
        await jobs.schedule(HERE, kind, f"{kind} 1", due_at=clock.time)
    await jobs.schedule(HERE, "purge", "1", due_at=clock.time)
    assert await jobs.claim_due(["nothing"]) == []
    two = await jobs.claim_due(["remind", "purge"])
    assert sorted(job.kind for job in two) == ["purge", "remind"]
    await jobs.finish(two[0])
    clock.advance(seconds=3600)
    await jobs.finish(two[1])
    assert await jobs.purge(before=clock.time) == 1
    assert await jobs.get(HERE, two[0].kind, two[0].key) is None
    assert await jobs.get(HERE, two[1].kind, two[1].key) is not None


async def test_the_same_key_moves_a_job_and_done_stays_done(db: Database, clock: HandClock) -> None:
    jobs = Jobs(db)
    soon, later = clock.time, clock.time + timedelta(hours=2)
    await jobs.schedule(HERE, "k", "x", due_at=soon, payload={"n": 1})
    await jobs.schedule(ELSEWHERE, "k", "x", due_at=later)
    await jobs.schedule(HERE, "k", "x", due_at=later, payload={"n": 2})
    moved = await jobs.get(HERE, "k", "x")
    assert moved is not None and (moved.due_at, moved.payload) == (later, {"n": 2})
    clock.advance(seconds=7200)
    both = await jobs.claim_due()
    assert len(both) == 2
    await jobs.finish(both[0])
    await jobs.schedule(HERE, "k", "x", due_at=soon)
    assert await jobs.claim_due() == []


async def test_a_cancelled_job_does_not_happen(db: Database, clock: HandClock) -> None:
    await db.write(effects_table)
    jobs = Jobs(db)
    await jobs.schedule(HERE, "k", "x", due_at=clock.time)
    (job,) = await jobs.claim_due()
    assert await jobs.cancel(HERE, "k", "x") is True
    assert await jobs.cancel(HERE, "k", "x") is False
    assert await jobs.finish(job, effect_of(job)) is False
    assert await db.read(count_effects) == 0


async def test_two_bots_share_the_jobs(
    db: Database, open_another: Opener, clock: HandClock
) -> None:
    await db.write(effects_table)
    for number in range(40):
        await Jobs(db).schedule(HERE, "k", f"job {number}", due_at=clock.time)
    other = await open_another()

    async def work(database: Database) -> int:
        jobs, finished = Jobs(database), 0
        while claimed := await jobs.claim_due(limit=3):
            for job in claimed:
                finished += await jobs.finish(job, effect_of(job))
        return finished

    finished = await asyncio.gather(work(db), work(other), work(db))
    assert sum(finished) == 40 and await db.read(count_effects) == 40


WORKER = """
import asyncio, sys
from sqlalchemy import text
from storage.database import Database
from storage.jobs import Jobs

def effect_of(job):
    insert = text("INSERT INTO effects VALUES (:job)")
    return lambda connection: connection.execute(insert, {"job": job.key})

async def main():
    jobs = Jobs(await Database.open(sys.argv[1]))
    print("up", flush=True)
    while await jobs.next_due() is not None:
        for job in await jobs.claim_due(limit=3, lease_s=0.2):
            await asyncio.sleep(0.003)
            await jobs.finish(job, effect_of(job))

asyncio.run(main())
"""


@pytest.mark.skipif(os.name != "posix", reason="needs SIGKILL")
def test_killed_workers_do_every_job_exactly_once(database_url: str) -> None:
    url = database_url

    async def prepare() -> None:
        database = await Database.open(url)
        await database.write(effects_table)
        for number in range(90):
            await Jobs(database).schedule(HERE, "k", f"job {number}", due_at=database.now())
        await database.close()

    asyncio.run(prepare())

    def start(how_many: int) -> list[subprocess.Popen[str]]:
        command = [sys.executable, "-c", WORKER, url]
        workers = [
            subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(how_many)
        ]
        for worker in workers:
            assert worker.stdout is not None and worker.stdout.readline() == "up\n"
        return workers

    kills = 0
    for wait_s in (0.02, 0.05, 0.09):
        workers = start(2)
        time.sleep(wait_s)
        for worker in workers:
            kills += worker.poll() is None
            worker.send_signal(signal.SIGKILL)
            worker.communicate()
    (last,) = start(1)
    assert last.wait(timeout=60) == 0
    last.communicate()

    async def count() -> list[tuple[str, int]]:
        database = await Database.open(url)
        query = text("SELECT job, count(*) FROM effects GROUP BY job")
        rows = await database.read(lambda connection: connection.execute(query).all())
        await database.close()
        return [(row[0], row[1]) for row in rows]

    done = asyncio.run(count())
    assert sorted(done) == sorted((f"job {number}", 1) for number in range(90))
    assert kills >= 4  # at least the first four died at work
