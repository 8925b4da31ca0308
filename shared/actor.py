"""Who acts, and as whose work a revision is kept."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Author:
    """Who changed something; ``member_id`` is None for somebody at the command line."""

    member_id: int | None
    name: str


@dataclass(frozen=True, slots=True)
class Actor:
    """A member who acts, in a community."""

    community_id: int
    member_id: int
    name: str

    @property
    def author(self) -> Author:
        """As the author of a revision."""
        return Author(self.member_id, self.name)
