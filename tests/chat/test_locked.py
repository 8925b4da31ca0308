"""Another program holds the whole database for seven seconds: nobody waits without a word.

A real process against the simulated Discord's port, which refuses an acknowledgement that comes
after three seconds by the wall. What was asked for meanwhile is done, once.
"""

import random
from typing import Any

from simcord.actors import _autocomplete_result

from storage.bags import Bags
from storage.database import Database
from storage.polls import Polls
from storage.results import Results
from tests.chat.booking import fields_of
from tests.chat.holding import held
from tests.chat.wire import until
from tests.chat.wire_community import Community, none_waits, said_on_note

LOCKED_S = 7.0
PROMPTLY_S = 20.0  # a retry of what failed under the lock may take so long, and not a minute


async def typing(here: Community, text: str) -> Any:
    """What is suggested for a grade."""
    filled = {"club": "6-iron"}
    asked = await _autocomplete_result(
        here.members[1], here.questions, "bag", "grade", text, filled
    )
    answered = await here.bot.answered(asked)
    assert answered is not None
    return answered.autocomplete_choices


async def asked_while_held(here: Community, opened: Any) -> list[Any]:
    """A filled form, a bag, a note, a poll's end and a vote, all at once."""
    tamsin, odile = here.members
    (poll,) = here.polls()
    typed = fields_of(opened.modal) | {"line": "A", "wind": "9 mph from 3"}
    sent = await tamsin.submit_modal(opened, typed)
    here.tried.add(sent._interaction.id)
    asked = [
        sent,
        await odile.slash(here.questions, "bag", club="6-iron", grade="oak"),
        await here.coach.slash(here.questions, "publish", hole=4),
        await here.coach.slash(here.questions, "poll end"),
    ]
    await odile.vote(poll, answer=2)
    return asked


async def test_under_a_lock_of_seven_seconds_everybody_is_acknowledged_and_all_is_kept(
    on_the_wire: Community,
) -> None:
    here, url = on_the_wire, on_the_wire.bot.database
    note = here.wire.messages(here.notes)[0]
    opened = await here.bot.answered(await here.members[0].click(note, label="Went in"))
    assert opened is not None and opened.modal is not None
    await none_waits(url)
    async with held(url, LOCKED_S, from_readers_too=True, to_the_end=True):
        asked = await asked_while_held(here, opened)
        for text in ("", "o", "oa"):
            assert await typing(here, text) is not None  # from memory, or none
        # The simulation refuses an acknowledgement that comes later than Discord takes.
        await until(lambda: all(each.acknowledged for each in asked))
    counted, bag, published, ended = [await here.told(each) for each in asked]
    assert counted and bag and published and ended
    assert counted.embeds[0].title == "Counted: hole 2, line A went in"
    assert "oak" in str(bag.embeds[0].description)
    assert published.content.startswith("Published 1 of 1")
    assert ended.content and here.odd == []
    await until(lambda: "**A** 1 try, 1 went in" in said_on_note(here), within_s=PROMPTLY_S)
    await none_waits(url)
    assert len(here.titles()) == 2
    await kept(url, here)
    assert await typing(here, "oa") == [{"name": "oak", "value": "oak"}]
    await here.log(here.members[0], random.Random(3))  # nothing stays stuck
    assert len(here.counted) == 1
    assert "Traceback" not in here.bot.said(), here.bot.said()


async def kept(url: str, here: Community) -> None:
    """What was asked for under the lock is in the database, once."""
    tamsin, odile = here.members
    (poll,) = here.polls()
    db = await Database.open(url)
    try:
        (result,) = await Results(db).of_member(here.guild.id, tamsin.id)
        assert result.interaction_id in here.tried
        bag = await Bags(db).get(here.guild.id, odile.id)
        assert bag is not None and bag.grades == {"6-iron": "oak"}
        closed = await Polls(db).by_message(poll.id)
        assert closed is not None and closed.state == "closed"
        assert (await Polls(db).tally(closed.id)).counts[2] == 1
    finally:
        await db.close()
    outcomes = [each for each in here.wire.messages(here.questions) if each.id > poll.id]
    assert len([each for each in outcomes if each.embeds and "6-iron" not in each.content]) == 1
