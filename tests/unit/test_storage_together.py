"""Two coaches, a pass and twenty members at once leave what some order one after another would.

All of them work through two doors to one database, as two processes do. What each transaction did
is written down in the database by that transaction, so that the end can be held against it.
"""

import asyncio
import json
import random
from collections import Counter
from dataclasses import dataclass, replace

import pytest
from sqlalchemy import Connection, select

from shared.actor import Author
from shared.bag import Bag
from storage.bags import Bags
from storage.database import Database
from storage.decisions import (
    Decision,
    Decisions,
    FrozenClub,
    freeze_club,
    keep_decision,
    release_club,
)
from storage.json import Json, JsonObject
from storage.outbox import Outbox, want_message
from storage.played import Part, Played
from storage.polls import Poll, Polls, tally_of
from storage.results import Results
from storage.revisions import Draft, Revisions, append_revisions, latest_revision
from storage.reweigh import Reweighed, reweigh_results
from storage.schema import results, revisions, votes
from storage.series import MeasuredSeries
from storage.settings import CommunitySettings
from storage.tallies import Tallies
from storage.vectors import VectorSums
from tests.unit.conftest import Opener

HERE, CHANNEL, MESSAGE = 2**60 + 101, 2**60 + 102, 2**60 + 103
MEMBERS, SHOTS, CLUBS = 20, 4, ("driver", "wedge", "7-iron")
HOLE, LINE = "cup/04", "cup/04/A"
COACHES = (2**61 + 1, 2**61 + 2)


@dataclass
class Stage:
    """Two doors to one database, and dice of one's own for everybody."""

    doors: tuple[Database, Database]
    seed: int
    poll: Poll

    def dice(self, who: int) -> random.Random:
        return random.Random(f"{self.seed}/{who}")

    def door(self, who: int) -> Database:
        return self.doors[who % 2]


async def breathe(dice: random.Random) -> None:
    await asyncio.sleep(dice.choice((0, 0, 0.001, 0.004)))


def shot(dice: random.Random, club: str) -> Played:
    vector = (dice.randrange(-400, 400) / 64, 1.0)
    return Played(
        hole_key=HOLE,
        line_key=LINE,
        variant="A",
        holed=dice.random() < 0.2,
        miss_cm=(dice.randrange(-900, 900), dice.randrange(-500, 500)),
        club=club,
        grade="plain",
        parts=(Part("gain", club, vector),),
    )


async def member(stage: Stage, number: int) -> None:
    """Logs, corrects and takes back shots, votes, and fills a bag."""
    db, dice = stage.door(number), stage.dice(number)
    who, kept = 7000 + number, Results(db)
    for count in range(SHOTS):
        press = 100_000 + 100 * number + 2 * count
        played = shot(dice, dice.choice(CLUBS))
        adds = [
            kept.add(HERE, played, member_id=who, author_name="M", interaction_id=press)
            for _ in range(dice.choice((1, 2)))  # a press may come twice
        ]
        logged = (await asyncio.gather(*adds))[0].result
        await breathe(dice)
        if dice.random() < 0.4:
            better = replace(shot(dice, played.club), holed=True)
            await kept.correct(logged.id, better, interaction_id=press + 1)
        elif dice.random() < 0.3:
            await kept.remove(logged.id)
        answer = dice.choice((1, 2))
        await Polls(db).vote(MESSAGE, who, answer, added=dice.random() < 0.8)

        def owned(bag: Bag, count: int = count) -> Bag:
            return Bag(grades={**bag.grades, f"club {count}": "plain"})

        await Bags(db).change(HERE, 7000 + number // 2, owned)  # two presses on one bag


def left_out(connection: Connection, ids: list[int]) -> set[int]:
    c = results.c
    query = select(c.id).where(c.id.in_(ids), c.left_out.is_not(None))
    return set(connection.execute(query.with_for_update()).scalars())


async def coach(stage: Stage, number: int) -> None:
    """Freezes and releases, leaves results out, writes lines, measures, notes things."""
    db, dice, name = stage.door(number), stage.dice(900 + number), f"coach {number}"
    decisions, kept = Decisions(db), Results(db)
    for count in range(8):
        club, now = dice.choice(CLUBS), db.now()
        held = FrozenClub(club, f"{name} {count}", {"n": count})
        note = Decision(COACHES[number], name, f"freeze/{club}/{count}", held.reason, now)
        await decisions.decide(HERE, note, freezing(held, note))
        await breathe(dice)
        if dice.random() < 0.6:
            gone = replace(note, what=f"release/{club}/{count}")
            await decisions.decide(
                HERE, gone, lambda connection, club=club: release_club(connection, HERE, club)
            )
        page = await kept.page(HERE, club=club)
        if page:
            await breathe(dice)
            one = dice.choice(page)

            def leave_out(connection: Connection, one=one, name=name) -> bool:
                without = Reweighed(one.id, 0.0, (), f"by {name}")
                return reweigh_results(connection, HERE, [without]) > 0

            what = f"leave-out/{one.id}/{count}"
            await decisions.decide(HERE, replace(note, what=what), leave_out)
        await write_line(db, name, count)
        await CommunitySettings(db).change(HERE, "log", noted(f"{name}/{count}"))
        await MeasuredSeries(db).change(HERE, COACHES[0], "wedge", measured(f"{name}/{count}"))


def freezing(held: FrozenClub, note: Decision):
    return lambda connection: freeze_club(connection, HERE, held, at=note.at)


async def write_line(db: Database, name: str, count: int) -> None:
    """Add to the line what stands there now, as setting a wind in an event does."""

    def fn(connection: Connection) -> None:
        newest = latest_revision(connection, HERE, "line", LINE)
        said: list[str] = [] if newest is None else json.loads(newest.body)
        draft = Draft("line", LINE, json.dumps([*said, f"{name}/{count}"]))
        author = Author(None, name)
        append_revisions(connection, HERE, [draft], author=author, reason="", at=db.now())
        body: JsonObject = {"text": draft.body}
        want_message(connection, HERE, "note", CHANNEL, body, at=db.now())

    await db.write(fn)


def noted(what: str):
    def fn(value: Json) -> Json:
        return [*value, what] if isinstance(value, list) else [what]

    return fn


def measured(what: str):
    def fn(body: JsonObject | None) -> JsonObject:
        before = (body or {}).get("shots")
        return {"shots": [*before, what] if isinstance(before, list) else [what]}

    return fn


async def weigh_anew(stage: Stage, number: int) -> None:
    """A full pass: reads all, thinks for a while, writes; what a coach left out meanwhile stays."""
    db, dice = stage.door(number), stage.dice(800 + number)
    for count in range(4):
        page = await Results(db).page(HERE)
        await asyncio.sleep(0.01)
        changes = [
            Reweighed(each.id, 0.5, (Part("gain", each.played.club, (float(count), 0.5)),))
            for each in page
            if not each.played.left_out
        ]
        for start in range(0, len(changes), 15):
            some = changes[start : start + 15]

            def fn(connection: Connection, some: list[Reweighed] = some) -> None:
                decided = left_out(connection, [each.result_id for each in some])
                wanted = [each for each in some if each.result_id not in decided]
                reweigh_results(connection, HERE, wanted)

            await db.write(fn)
            await breathe(dice)


async def post(stage: Stage, number: int, chat: dict[int, list[str]], done: asyncio.Event) -> None:
    """Brings messages to a chat that posts at once and keeps what it is told."""
    outbox, dice = Outbox(stage.door(number)), stage.dice(700 + number)
    while (waiting := await outbox.claim(limit=2)) or not done.is_set():
        for message in waiting:
            text = str((message.body or {}).get("text"))
            message_id = message.message_id or 9000 + len(chat)
            await breathe(dice)
            chat.setdefault(message_id, []).append(text)
            await outbox.posted(message, message_id)
        await asyncio.sleep(0.005)


async def close(stage: Stage, number: int) -> bool:
    db = stage.door(number)
    await asyncio.sleep(0.05)

    def effect(connection: Connection) -> None:
        tally = tally_of(connection, stage.poll)
        decision = Decision(None, None, "poll", json.dumps(tally.counts), db.now())
        keep_decision(connection, HERE, decision)

    return await Polls(db).close(stage.poll.id, "time", effect)


@pytest.mark.parametrize("seed", [3, 11, 42])
async def test_everybody_at_once(db: Database, open_another: Opener, seed: int) -> None:
    poll = await Polls(db).create(
        HERE, CHANNEL, question="?", answers=["A", "B"], closes_at=db.now(), message_id=MESSAGE
    )
    stage, chat = Stage((db, await open_another()), seed, poll), dict[int, list[str]]()
    done = asyncio.Event()
    posters = [asyncio.create_task(post(stage, number, chat, done)) for number in range(2)]
    outcomes = await asyncio.gather(
        *(member(stage, number) for number in range(MEMBERS)),
        *(coach(stage, number) for number in range(2)),
        weigh_anew(stage, 0),
        *(close(stage, number) for number in range(5)),
    )
    done.set()
    await asyncio.gather(*posters)
    assert outcomes[-5:].count(True) == 1
    await every_result_counts_once(db)
    await decisions_stand(db)
    await nothing_written_is_lost(db)
    await votes_add_up(db, poll)
    await the_chat_shows_the_last_word(db, chat)


async def every_result_counts_once(db: Database) -> None:
    standing = await Results(db).page(HERE)
    rows = await db.read(lambda connection: connection.execute(select(results)).all())
    presses = Counter(row.interaction_id for row in rows)
    assert set(presses.values()) == {1}
    firsts = [row for row in rows if row.edition == 0]
    assert len(firsts) == MEMBERS * SHOTS
    for number in range(MEMBERS):
        attempts = sorted(row.attempt for row in firsts if row.member_id == 7000 + number)
        assert attempts == list(range(1, SHOTS + 1))
    (line,) = (await Tallies(db).of_hole(HERE, HOLE)).lines
    ends = [each.played.missed_by_cm for each in standing]
    misses = [each for each in ends if each is not None]
    assert line.tries == len(standing) and line.holed == sum(r.played.holed for r in standing)
    assert round(line.sum_long_m * 100) == sum(long for long, _ in misses)
    assert round(line.sum_product_m2 * 10_000) == sum(long * right for long, right in misses)
    sums: dict[str, tuple[float, ...]] = {}
    for part in (part for each in standing for part in each.played.parts):
        before = sums.get(part.key, (0.0, 0.0))
        sums[part.key] = tuple(a + b for a, b in zip(before, part.vector, strict=True))
    assert await VectorSums(db).all(HERE, "gain") == sums


async def decisions_stand(db: Database) -> None:
    """Replaying the list of decisions gives what is frozen, and no pass undid a leaving out."""
    frozen: dict[str, str] = {}
    out: set[int] = set()
    for decision in reversed(await Decisions(db).last(HERE)):
        what, _, rest = decision.what.partition("/")
        subject = rest.rpartition("/")[0]
        if what == "freeze":
            frozen[subject] = decision.reason
        elif what == "release":
            del frozen[subject]  # a release of nothing is no decision
        elif what == "leave-out":
            out.add(int(subject))
    kept = await Decisions(db).frozen(HERE)
    assert {each.club: each.reason for each in kept} == frozen
    rows = await db.read(lambda connection: connection.execute(select(results)).all())
    # A coach's word goes with the result, whatever its member corrects.
    supersedes = {row.id: row.supersedes for row in rows}
    for row in sorted(rows, key=lambda row: row.edition):
        if supersedes[row.id] in out:
            out.add(row.id)
    assert out and {row.id for row in rows if row.left_out} == out
    assert all(row.parts == [] and row.weight == 0 for row in rows if row.id in out)


async def nothing_written_is_lost(db: Database) -> None:
    everything = sorted(f"coach {number}/{count}" for number in range(2) for count in range(8))
    newest = await Revisions(db).latest(HERE, "line", LINE)
    assert newest is not None and sorted(json.loads(newest.body)) == everything
    query = select(revisions.c.number).order_by(revisions.c.number)
    numbers = await db.read(lambda connection: connection.execute(query).scalars().all())
    assert list(numbers) == list(range(1, len(everything) + 1))
    log = await CommunitySettings(db).get(HERE, "log")
    assert isinstance(log, list) and sorted(map(str, log)) == everything
    series = await MeasuredSeries(db).get(HERE, COACHES[0], "wedge")
    assert series is not None and isinstance(series["shots"], list)
    assert sorted(map(str, series["shots"])) == everything
    for number in range(0, MEMBERS, 2):
        bag = await Bags(db).get(HERE, 7000 + number // 2)
        assert bag is not None and len(bag.grades) == SHOTS


async def votes_add_up(db: Database, poll: Poll) -> None:
    """Each vote changed something, and what the closing counted is what stands: none came after."""
    query = select(votes).order_by(votes.c.id)
    standing: set[tuple[int, int]] = set()
    for row in await db.read(lambda connection: connection.execute(query).all()):
        vote = (row.member_id, row.answer)
        assert (vote in standing) != row.added
        (standing.add if row.added else standing.remove)(vote)
    counts = {answer: sum(each == answer for _, each in standing) for answer in (1, 2)}
    assert (await Polls(db).tally(poll.id)).counts == counts
    (closing,) = [d for d in await Decisions(db).last(HERE) if d.what == "poll"]
    assert json.loads(closing.reason) == {str(answer): count for answer, count in counts.items()}


async def the_chat_shows_the_last_word(db: Database, chat: dict[int, list[str]]) -> None:
    assert await Outbox(db).claim() == []
    newest = await Revisions(db).latest(HERE, "line", LINE)
    assert newest is not None and list(chat) == [9000]
    assert chat[9000][-1] == newest.body
    lengths = [len(json.loads(text)) for text in chat[9000]]
    assert lengths == sorted(set(lengths))  # never an older text after a newer one, none twice
