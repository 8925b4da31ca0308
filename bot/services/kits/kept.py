"""A community's own kit, and its measured charts laid over that or over the operator's.

Both are kept as revisions, like everything coaches write. Of charts only the charts are kept: a
change of the operator's file reaches every community that has no kit of its own.
"""

from datetime import datetime

from pydantic import Field, ValidationError
from sqlalchemy import Connection

from shared.actor import Author
from shared.errors import StorageError
from shared.kit import Chart, Charts, Club, Kit
from shared.model import Model
from storage.database import Database
from storage.revisions import Draft, Revision, append_revision, latest_of_every, latest_revision

KIND, KEY = "charts", "charts"
WHOLE_KIT = "kit"  # before charts were kept by themselves
OWN_KEY = "own"
DEFAULT = ""  # the body of a revision that goes back to the operator's kit


class ClubCharts(Model):
    """What stands for a club: one chart, three, or neither."""

    chart: Chart = ()
    charts: Charts | None = None

    @classmethod
    def of(cls, club: Club) -> "ClubCharts":
        """What a club has."""
        return cls(chart=club.chart, charts=club.charts)


class KeptCharts(Model):
    """Charts by club, and what stood before the last change of each (None: the kit's own)."""

    now: dict[str, ClubCharts] = Field(default_factory=dict[str, ClubCharts])
    before: dict[str, ClubCharts | None] = Field(default_factory=dict[str, ClubCharts | None])

    def with_charts(self, club: str, charts: Charts) -> "KeptCharts":
        """With another chart of a club."""
        new = ClubCharts(charts=charts)
        before = {**self.before, club: self.now.get(club)}
        return KeptCharts(now={**self.now, club: new}, before=before)

    def undone(self, club: str) -> "KeptCharts | None":
        """With a club's chart of before; None where there was no change to take back."""
        if club not in self.before:
            return None
        now = {name: charts for name, charts in self.now.items() if name != club}
        stood = self.before[club]
        before = {name: charts for name, charts in self.before.items() if name != club}
        return KeptCharts(now=now if stood is None else {**now, club: stood}, before=before)

    def over(self, kit: Kit) -> Kit:
        """The kit with these charts on its clubs."""
        clubs = tuple(
            each.model_copy(update=dict(self.now[each.name])) if each.name in self.now else each
            for each in kit.clubs
        )
        return kit.model_copy(update={"clubs": clubs})


class KitRepository:
    """The kits that communities play: their own or the operator's, with charts laid over."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int, base: Kit) -> Kit | None:
        """What the community plays where its operator's kit is ``base``; None where just that."""

        def fn(connection: Connection) -> tuple[Kit | None, KeptCharts]:
            return own_kit(connection, community_id), kept_charts(connection, community_id)

        own, charts = await self._db.read(fn)
        return charts.over(own or base) if own is not None or charts.now else None

    async def owners(self) -> list[tuple[int, str]]:
        """The communities with a kit of their own, and its name."""
        found = await self._db.read(lambda c: latest_of_every(c, WHOLE_KIT, OWN_KEY))
        kits = [(each.community_id, kit_of(each)) for each in found]
        return [(community, kit.name) for community, kit in kits if kit is not None]


def own_kit(connection: Connection, community_id: int) -> Kit | None:
    """A community's own kit without its charts, inside a transaction; None where it has none."""
    found = latest_revision(connection, community_id, WHOLE_KIT, OWN_KEY)
    return None if found is None else kit_of(found)


def kit_of(revision: Revision) -> Kit | None:
    """The kit that a revision keeps, None for the operator's. Errors: StorageError."""
    if revision.body == DEFAULT:
        return None
    try:
        return Kit.model_validate_json(revision.body)
    except ValidationError as error:
        raise StorageError("this community's kit can't be read; a coach loads it anew") from error


def kept_charts(connection: Connection, community_id: int) -> KeptCharts:
    """A community's charts, inside a transaction. Raises StorageError for what can't be read."""
    try:
        found = latest_revision(connection, community_id, KIND, KEY)
        if found is not None:
            return KeptCharts.model_validate_json(found.body)
        whole = latest_revision(connection, community_id, WHOLE_KIT, WHOLE_KIT)
        if whole is None:
            return KeptCharts()
        clubs = Kit.model_validate_json(whole.body).clubs
    except ValidationError as error:
        raise StorageError(
            "this community's charts can't be read; a coach measures anew"
        ) from error
    return KeptCharts(now={club.name: ClubCharts.of(club) for club in clubs if club.charted})


def keep_charts(
    connection: Connection,
    community_id: int,
    charts: KeptCharts,
    *,
    author: Author,
    reason: str,
    at: datetime,
) -> None:
    """Keep charts as a new revision, inside the transaction of what else changes with them."""
    draft = Draft(KIND, KEY, charts.model_dump_json())
    append_revision(connection, community_id, draft, author=author, reason=reason, at=at)
