"""The composition root: settings -> storage -> caddie -> bot. Everything is wired here."""

import asyncio
import logging
from dataclasses import dataclass

import discord
from discord.ext import commands

from bot.bag.cog import BagCog
from bot.bag.shelf import BagShelf
from bot.chat.respond import on_tree_error
from bot.equal.cog import EqualCog
from bot.help.cog import HelpCog
from bot.kit.cog import KitCog
from bot.kit.shelf import KitShelf
from bot.settings import Settings, load_kit
from bot.wind.cog import WindCog
from bot.wind.desk import WindDesk
from shared.units import UnitSystem
from storage.bags import Bags
from storage.database import Database

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class House:
    """What the features stand on."""

    db: Database
    kits: KitShelf
    bags: BagShelf


async def open_house(settings: Settings) -> House:
    """Open the database and build the caddie. Errors: StorageError, InputError."""
    kit = await asyncio.to_thread(load_kit, settings.kit)
    kits = await KitShelf.open(kit)
    db = await Database.open(settings.database)
    log.info("database: %s", db.where)
    return House(db=db, kits=kits, bags=BagShelf(Bags(db)))


def cogs(house: House) -> list[commands.Cog]:
    """Every feature's chat side."""
    desk = WindDesk(kits=house.kits, bags=house.bags)
    return [
        WindCog(desk),
        EqualCog(desk),
        BagCog(kits=house.kits, bags=house.bags),
        KitCog(kits=house.kits, bags=house.bags),
        HelpCog(kits=house.kits, bags=house.bags),
    ]


class Leeward(commands.Bot):
    """The bot. It opens its house when it logs in and closes it when it goes."""

    def __init__(self, settings: Settings) -> None:
        super().__init__(
            command_prefix=commands.when_mentioned,
            intents=discord.Intents(guilds=True, polls=True),
            allowed_mentions=discord.AllowedMentions.none(),
            help_command=None,
        )
        self.settings = settings
        self.house: House | None = None
        self.tree.error(on_tree_error)

    async def setup_hook(self) -> None:
        """Open the house, add the features and tell Discord their commands."""
        self.house = await open_house(self.settings)
        for cog in cogs(self.house):
            await self.add_cog(cog)
        synced = await self.tree.sync()
        log.info("synced %d commands", len(synced))

    async def units_of(self, community_id: int, member_id: int) -> UnitSystem:
        """In which units a member reads."""
        if self.house is None:
            return "yards"
        return (await self.house.bags.get(community_id, member_id)).units

    async def close(self) -> None:
        """Leave Discord, then close the database."""
        await super().close()
        if self.house is not None:
            await self.house.db.close()
            self.house = None


def make_bot(settings: Settings) -> Leeward:
    """A bot ready to be started."""
    return Leeward(settings)
