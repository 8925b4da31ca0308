"""The community whose bag and kit answer a member outside a server. Knows no Discord."""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from storage.homes import Homes

Looked = Callable[[int], Awaitable[list[int]]]
"""The communities a member belongs to, as far as a few looks can tell."""


@dataclass(frozen=True)
class Home:
    """``community_id`` answers; None where the member has to choose among ``several``."""

    community_id: int | None
    several: tuple[int, ...] = ()


class HomeService:
    """Finds a member's community, and keeps what they chose."""

    def __init__(self, *, homes: Homes, look: Looked, nowhere: int) -> None:
        self._homes = homes
        self._look = look
        self._nowhere = nowhere

    async def of(self, member_id: int) -> Home:
        """The chosen community, or the only one that knows the member; else none at all."""
        chosen = await self._homes.chosen(member_id)
        if chosen is not None:
            return Home(chosen)
        known = [each for each in await self._homes.known(member_id) if each != self._nowhere]
        found = known or await self._look(member_id)
        if len(found) > 1:
            return Home(None, tuple(found))
        return Home(found[0] if found else self._nowhere)

    async def choose(self, community_id: int, member_id: int) -> None:
        """Have a community answer a member from now on."""
        await self._homes.choose(community_id, member_id)
