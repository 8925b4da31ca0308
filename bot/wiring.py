"""The services the features stand on: the database opened, the caddie built, all wired once."""

import asyncio
import logging
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import discord
from discord.ext import commands

from bot.chat.respond import NOWHERE
from bot.drawing.pool import PicturePool
from bot.services.book.book import Book
from bot.services.book.choices import Choices
from bot.services.caddie.law_worker import LawWorker
from bot.services.division_roles import DivisionRoles
from bot.services.homes import HomeService
from bot.services.kits.kept import KitRepository
from bot.services.learning.decisions import Decisions
from bot.services.learning.learner import Learner
from bot.services.members import BagCache, Caddies, ToldAims
from bot.services.pictures.guides import GuideService
from bot.services.pictures.service import PictureService
from bot.services.roles import Roles
from bot.services.upkeep import BackUp
from bot.services.verdicts.results import Verdicts
from bot.settings import Settings, load_kit
from shared.kit import Kit
from storage.backup import backup
from storage.bags import Bags
from storage.database import Database
from storage.homes import Homes
from storage.outbox import Outbox
from storage.settings import CommunitySettings
from storage.told import KeptAims
from storage.vectors import VectorSums
from storage.versions import Versions

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Services:
    """What the features stand on."""

    db: Database
    kits: Caddies
    bags: BagCache
    choices: Choices
    roles: Roles
    division_roles: DivisionRoles
    book: Book
    outbox: Outbox
    learner: Learner
    decisions: Decisions
    pictures: PictureService
    guides: GuideService
    verdicts: Verdicts
    settings: CommunitySettings
    kept_kits: KitRepository
    told: ToldAims
    law: LawWorker
    back_up: BackUp | None


async def open_services(settings: Settings) -> Services:
    """Open the database and build the caddie. Errors: StorageError, InputError."""
    kit = await asyncio.to_thread(load_kit, settings.kit)
    kits = await Caddies.open(kit)
    db = await Database.open(settings.database, shard=settings.shard)
    log.info("database: %s", db.where)
    store = CommunitySettings(db)
    choices = Choices(db)
    decisions = Decisions(db)
    learner = Learner(kits=kits, sums=VectorSums(db), decisions=decisions)
    kits.teach(learner.beliefs)
    kept_kits = KitRepository(db)
    kits.keep(kept_kits.get)
    versions = Versions(db)
    kits.watch(versions.of)
    log.info("%s", kits_in_force(kit, settings.kit, await kept_kits.owners()))
    bags = BagCache(Bags(db), versions)
    book = Book(db=db, choices=choices, kits=kits)
    division_roles = DivisionRoles(store)
    book.by_role = division_roles.division
    verdicts = Verdicts(db=db, book=book, kits=kits, bags=bags)
    pool = PicturePool(in_thread=settings.draw_in_thread)
    return Services(
        db=db,
        kits=kits,
        bags=bags,
        choices=choices,
        roles=Roles(store),
        division_roles=division_roles,
        book=book,
        pictures=PictureService(pool=pool, kits=kits, bags=bags),
        guides=GuideService(pool=pool, book=book, kits=kits, bags=bags, verdicts=verdicts),
        verdicts=verdicts,
        outbox=Outbox(db),
        learner=learner,
        decisions=decisions,
        settings=store,
        kept_kits=kept_kits,
        told=ToldAims(KeptAims(db)),
        law=LawWorker(),
        back_up=back_up_of(settings),
    )


NAMED_OWNERS = 5


def kits_in_force(kit: Kit, path: Path, owners: Sequence[tuple[int, str]]) -> str:
    """Which kit is the default, and which communities play one of their own."""
    said = f"kit: {kit.name} ({path}) where a community has none of its own"
    if not owners:
        return f"{said}; none has"
    named = [f"{name} in {community}" for community, name in owners[:NAMED_OWNERS]]
    more = len(owners) - NAMED_OWNERS
    return "; ".join([said, *named]) + (f"; {more} more" if more > 0 else "")


def back_up_of(settings: Settings) -> BackUp | None:
    """What writes a backup where one is wanted; None where none is."""
    if settings.backups is None:
        return None
    return partial(backup, settings.database, settings.backups, keep=settings.backups_kept)


MOST_LOOKED = 5  # communities that are asked whether a stranger is a member of theirs


def homes_of(services: Services, bot: commands.Bot) -> HomeService:
    """Whose bag answers outside a server; who is known nowhere is looked for in a few."""

    async def look(member_id: int) -> list[int]:
        found: list[int] = []
        for guild in bot.guilds[:MOST_LOOKED]:
            with suppress(discord.HTTPException):
                found.append((await guild.fetch_member(member_id)).guild.id)
        return found

    return HomeService(homes=Homes(services.db), look=look, nowhere=NOWHERE)
