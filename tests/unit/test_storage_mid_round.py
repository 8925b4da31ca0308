"""A member's round and the community that answers them elsewhere are kept apart and for good."""

from shared.bag import Bag
from storage.bags import Bags
from storage.communities import Communities
from storage.database import Database
from storage.divisions import Divisions
from storage.homes import Homes
from storage.json import JsonObject
from storage.member_rounds import MemberRounds
from storage.told import KeptAims
from tests.unit.conftest import HandClock, Opener

ANN, BEN = 2**60 + 7, 2**60 + 8


async def test_a_round_is_changed_in_one_step_and_each_members_own(db: Database) -> None:
    rounds, seen = MemberRounds(db), list[JsonObject | None]()

    def on(body: JsonObject | None) -> JsonObject:
        seen.append(body)
        return {
            "hole": 1 if body is None else int(str(body["hole"])) + 1,
            "winds": {"1": [4.5, 60]},
        }

    for _ in range(3):
        await rounds.change(11, ANN, on)
    assert await rounds.change(12, ANN, on) == {"hole": 1, "winds": {"1": [4.5, 60]}}
    assert await rounds.get(11, ANN) == {"hole": 3, "winds": {"1": [4.5, 60]}}
    assert await rounds.get(11, BEN) is None and seen[0] is None and seen[3] is None


async def test_the_community_chosen_last_answers(db: Database, clock: HandClock) -> None:
    homes = Homes(db)
    assert await homes.chosen(ANN) is None
    for community in (12, 11, 12):
        await homes.choose(community, ANN)
        clock.advance(seconds=5)
        assert await homes.chosen(ANN) == community
    await homes.choose(11, BEN)
    assert await homes.chosen(ANN) == 12


async def test_communities_that_know_a_member_are_those_still_served(
    db: Database, clock: HandClock
) -> None:
    homes = Homes(db)
    await Bags(db).put(31, ANN, Bag(ball="tern", private=True))
    await Divisions(db).put(22, ANN, "Oar", event="Cup")
    await Divisions(db).put(31, ANN, "Oar", event="Cup")
    await Bags(db).put(44, BEN, Bag())
    assert await homes.known(ANN) == [22, 31] and await homes.known(BEN) == [44]
    await KeptAims(db).add({(55, BEN): [{"club": "driver"}]})  # who has asked is known too
    assert await homes.known(BEN) == [44, 55]
    assert (await Bags(db).get(31, ANN)) == Bag(ball="tern", private=True)
    await homes.choose(22, ANN)
    await Communities(db).here([22, 31])
    assert await Communities(db).left(22)
    assert await homes.known(ANN) == [31] and await homes.chosen(ANN) is None


async def test_communities_to_look_in_are_those_not_left_the_named_ones_first(
    open_another: Opener,
) -> None:
    other = Communities(await open_another())
    await other.here([31, 12, 24, 7])
    assert await other.left(12)
    assert await other.somewhere(first=[31, 12], limit=3) == [31, 7, 24]
    assert await other.somewhere(first=[], limit=2) == [7, 24]
