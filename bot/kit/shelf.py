"""Which caddie answers in which community."""

import asyncio

from bot.caddie.caddie import Caddie
from shared.kit import Kit


class KitShelf:
    """Caddies by community. Every community plays the kit Leeward was started with."""

    def __init__(self, caddie: Caddie) -> None:
        self._caddie = caddie

    @classmethod
    async def open(cls, kit: Kit) -> "KitShelf":
        """Solve the kit's full shots off the event loop."""
        return cls(await asyncio.to_thread(Caddie, kit))

    async def caddie(self, community_id: int) -> Caddie:
        """The caddie of a community's kit."""
        return self._caddie
