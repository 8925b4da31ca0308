"""What a community leaves behind when it goes, and what is done once a day. Knows no Discord."""

import asyncio
import logging
from collections.abc import Callable, Collection
from datetime import timedelta
from pathlib import Path

from shared.errors import StorageError
from storage.communities import Communities
from storage.database import Database
from storage.jobs import Jobs

log = logging.getLogger(__name__)

PURGE, BACKUP = "purge", "backup"
BACKUP_LEASE_S = 3600.0  # nobody else begins one meanwhile
KEPT_AFTER_LEAVING = timedelta(days=30)
ENDED_JOBS_KEPT = timedelta(days=90)
DAILY = timedelta(days=1)
NOBODY = 0  # the community of jobs that belong to none


BackUp = Callable[[], Path]
"""Writes a backup, verifies it and deletes the oldest; where it is. Blocks."""


class Upkeep:
    """Who is served, and purging what is kept of those who left."""

    def __init__(self, db: Database, *, back_up: BackUp | None = None) -> None:
        self._back_up = back_up
        self._db = db
        self._communities = Communities(db)
        self._jobs = Jobs(db)

    async def begin(self, community_ids: Collection[int]) -> None:
        """These are served as Leeward starts; those it misses have left meanwhile."""
        here = set(community_ids)
        await self._communities.here(here)
        for community_id in await self._communities.served():
            if community_id not in here and community_id != NOBODY:
                await self.left(community_id)
        await self._jobs.schedule(NOBODY, PURGE, PURGE, due_at=self._db.now())
        # Not at every start: a day of restarts must not drive out the backups of a fortnight.
        if self._back_up is not None and await self._jobs.get(NOBODY, BACKUP, BACKUP) is None:
            await self._jobs.schedule(NOBODY, BACKUP, BACKUP, due_at=self._db.now())

    async def joined(self, community_id: int) -> None:
        """A community is served from now on; one that comes back finds everything."""
        await self._communities.here([community_id])

    async def left(self, community_id: int) -> None:
        """A community is served no more; what is kept of it goes after a month."""
        if await self._communities.left(community_id):
            log.info("community %d left; its data goes in %s", community_id, KEPT_AFTER_LEAVING)

    async def do_due(self) -> None:
        """Back up, and purge those who left long ago, once a day each."""
        if self._back_up is not None:
            await self._back_up_due(self._back_up)
        for job in await self._jobs.claim_due([PURGE]):
            for community_id in await self._communities.purge_left(kept=KEPT_AFTER_LEAVING):
                log.info("community %d left long ago; its data is purged", community_id)
            await self._jobs.purge(before=self._db.now() - ENDED_JOBS_KEPT)
            await self._jobs.finish(job, again_at=self._db.now() + DAILY)

    async def _back_up_due(self, back_up: BackUp) -> None:
        for job in await self._jobs.claim_due([BACKUP], lease_s=BACKUP_LEASE_S):
            try:
                path = await asyncio.to_thread(back_up)
            except (StorageError, OSError) as error:
                log.error("no backup could be written: %s", error)
                await self._jobs.put_off(job, str(error))
                continue
            log.info("backed up into %s", path)
            await self._jobs.finish(job, again_at=self._db.now() + DAILY)
