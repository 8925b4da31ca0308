"""Members' bags, kept in memory beside the database: a suggestion asks for one per keystroke."""

from collections import OrderedDict

from shared.bag import Bag
from shared.errors import InputError
from shared.kit import Kit
from shared.units import UnitSystem
from shared.wording import quoted
from storage.bags import Bags

BAGS_IN_MEMORY = 2_000


class BagCache:
    """Reads through to the database and remembers the bags asked for last."""

    def __init__(self, bags: Bags) -> None:
        self._bags = bags
        self._seen: OrderedDict[tuple[int, int], Bag] = OrderedDict()

    async def get(self, community_id: int, member_id: int) -> Bag:
        """A member's bag; an empty one (all defaults) where none was set."""
        key = (community_id, member_id)
        if key not in self._seen:
            stored = await self._bags.get(community_id, member_id)
            self._keep(key, stored or Bag())
        self._seen.move_to_end(key)
        return self._seen[key]

    async def change(
        self,
        community_id: int,
        member_id: int,
        *,
        grades: dict[str, str],
        ball: str | None = None,
        units: UnitSystem | None = None,
    ) -> Bag:
        """Set what is given and leave the rest, in one write; the bag as it is then."""

        def changed(bag: Bag) -> Bag:
            return Bag(grades=bag.grades | grades, ball=ball or bag.ball, units=units or bag.units)

        bag = await self._bags.change(community_id, member_id, changed)
        self._keep((community_id, member_id), bag)
        return bag

    def drop(self, community_id: int, member_id: int) -> None:
        """Forget what is remembered of a member, after their rows have changed elsewhere."""
        self._seen.pop((community_id, member_id), None)

    def _keep(self, key: tuple[int, int], bag: Bag) -> None:
        self._seen[key] = bag
        self._seen.move_to_end(key)
        while len(self._seen) > BAGS_IN_MEMORY:
            self._seen.popitem(last=False)


def grades_to_set(*, kit: Kit, club: str | None, grade: str | None) -> dict[str, str]:
    """Grades by club for what a member chose: one club, or every club that has the grade.

    Errors: InputError for a grade without its club, or a club without its grade.
    """
    if grade is None:
        if club is None:
            return {}
        names = ", ".join(each.name for each in kit.club(club).grades)
        raise InputError(
            f"Say which grade of the {club} you own: {names}.",
            f"/bag club:{club} grade:{kit.club(club).grades[-1].name}",
        )
    clubs = [kit.club(club)] if club is not None else list(kit.clubs)
    typed = grade.strip().casefold()
    having = {
        each.name: own.name for each in clubs for own in each.grades if own.name.casefold() == typed
    }
    if not having:
        names = ", ".join(own.name for own in clubs[0].grades)
        owner = f"the {club}" if club is not None else "the kit"
        raise InputError(
            f"{owner[0].upper()}{owner[1:]} has no grade called {quoted(grade)}; it has {names}.",
            f"/bag club:{clubs[0].name} grade:{clubs[0].grades[-1].name}",
        )
    return having
