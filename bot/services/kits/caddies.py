"""Which caddie answers in which community: its kit, and what its own shots have taught."""

import asyncio
from collections.abc import Awaitable, Callable

from bot.services.caddie.believed import Believed
from bot.services.caddie.caddie import Caddie
from shared.kit import Kit

Own = Callable[[int], Awaitable[Kit | None]]
Beliefs = Callable[[int, Caddie], Awaitable[Believed]]


class Caddies:
    """Caddies by community, made when first asked for and kept.

    Every community starts with the kit Leeward was started with; ``teach`` says where a
    community's beliefs come from.
    """

    def __init__(self, caddie: Caddie) -> None:
        self._first = caddie
        self._caddies: dict[int, Caddie] = {}
        self._beliefs: Beliefs | None = None
        self._own: Own | None = None

    @classmethod
    async def open(cls, kit: Kit) -> "Caddies":
        """Solve the kit's full shots off the event loop."""
        return cls(await asyncio.to_thread(Caddie, kit))

    def teach(self, beliefs: Beliefs) -> None:
        """Have every community's caddie believe what ``beliefs`` says of it."""
        self._beliefs = beliefs
        self._caddies.clear()

    def keep(self, own: Own) -> None:
        """Have communities play the kit of their own that ``own`` says they have."""
        self._own = own
        self._caddies.clear()

    async def caddie(self, community_id: int) -> Caddie:
        """The caddie of a community."""
        known = self._caddies.get(community_id)
        if known is None:
            own = await self._own(community_id) if self._own is not None else None
            if own is not None:
                self._caddies[community_id] = await asyncio.to_thread(Caddie, own)
            await self.refresh(community_id)
            known = self._caddies[community_id]
        return known

    async def refresh(self, community_id: int) -> None:
        """Ask anew what a community's shots have taught."""
        caddie = self._caddies.get(community_id, self._first)
        if self._beliefs is not None:
            caddie = caddie.believing(await self._beliefs(community_id, caddie))
        self._caddies[community_id] = caddie

    async def change_kit(self, community_id: int, kit: Kit) -> None:
        """Have a community play another kit from now on."""
        self._caddies[community_id] = await asyncio.to_thread(Caddie, kit)
        await self.refresh(community_id)
