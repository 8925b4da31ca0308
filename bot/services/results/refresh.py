"""Who shows results in a channel and wants to hear of new ones."""

from typing import Protocol

from bot.services.book.changes import BookChange


class Refreshes(Protocol):
    """Something that wants its messages anew when a hole changes."""

    async def refresh(self, change: BookChange) -> bool:
        """Want changed messages anew; True where one reads otherwise."""
        ...
