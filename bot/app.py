"""The composition root: settings -> house (storage, caddie) -> bot. Every feature is wired here."""

import asyncio
import logging
from contextlib import suppress

import discord
from discord.ext import commands

from bot.chat.publisher import Publisher
from bot.chat.respond import on_tree_error
from bot.commands.bag.cog import BagCog
from bot.commands.book.buttons import LineButton
from bot.commands.book.event_cog import EventCog
from bot.commands.book.line_cog import LineCog
from bot.commands.compare.cog import CompareCog
from bot.commands.equal.cog import EqualCog
from bot.commands.for_me.cog import ForMeCog
from bot.commands.help.cog import HelpCog
from bot.commands.kit.cog import KitCog
from bot.commands.me.cog import MeCog
from bot.commands.measure.cog import MeasureCog
from bot.commands.notes.cog import NotesCog
from bot.commands.pictures.cog import PicturesCog
from bot.commands.polls.cog import PollCog
from bot.commands.polls.poll_messages import PollMessages
from bot.commands.polls.watch import PollWatch
from bot.commands.practice.cog import PracticeCog
from bot.commands.results.cog import ResultsCog
from bot.commands.setup.cog import SetupCog
from bot.commands.share.cog import ShareCog
from bot.commands.trust.cog import LearningCog
from bot.commands.wind.cog import WindCog
from bot.services.book.drafts import Drafts
from bot.services.book.event_service import EventService
from bot.services.book.line_service import LineService
from bot.services.compare.service import CompareService
from bot.services.for_me import ForMeService
from bot.services.learning.full_pass import FullPass
from bot.services.learning.trust_service import TrustService
from bot.services.measure.service import MeasureService
from bot.services.notes.service import NoteService
from bot.services.polls.service import PollService
from bot.services.practice import PracticeService
from bot.services.privacy import PrivacyService
from bot.services.results.service import ResultService
from bot.services.sharing.messages import ShareMessages
from bot.services.sharing.service import ShareService
from bot.services.wind.service import WindService
from bot.settings import Settings
from bot.wiring import Services, open_services
from shared.units import UnitSystem
from storage.results import Results

log = logging.getLogger(__name__)

GOODBYE_S = 5.0  # for notes on their way when the bot is told to stop


def cogs(house: Services, bot: commands.Bot) -> list[commands.Cog]:
    """Every feature's chat side."""
    service = WindService(kits=house.kits, bags=house.bags, told=house.told)
    return [
        *_book_cogs(house, bot),
        *_learning_cogs(house, bot),
        PicturesCog(bot=bot, service=house.pictures),
        WindCog(service),
        EqualCog(service),
        BagCog(kits=house.kits, bags=house.bags),
        KitCog(kits=house.kits, bags=house.bags),
        HelpCog(kits=house.kits, bags=house.bags),
    ]


def _learning_cogs(house: Services, bot: commands.Bot) -> list[commands.Cog]:
    """The gains, a coach's decisions about them, and measuring on purpose."""
    service = TrustService(db=house.db, kits=house.kits, learner=house.learner, ledger=house.ledger)
    refresher = FullPass(db=house.db, kits=house.kits, learner=house.learner)
    measure = MeasureService(
        settings=house.settings,
        results=Results(house.db),
        kits=house.kits,
        kept=house.kept_kits,
        bags=house.bags,
        learner=house.learner,
        trust=service,
    )
    roles, bags = house.roles, house.bags
    return [
        LearningCog(
            bot=bot,
            service=service,
            refresher=refresher,
            roles=roles,
            bags=bags,
            pool=house.pictures.pool,
        ),
        MeasureCog(bot=bot, service=measure, bags=bags, roles=roles),
    ]


def _book_cogs(house: Services, bot: commands.Bot) -> list[commands.Cog]:
    """The book and the notes that go out of it."""
    kits, bags, book, roles = house.kits, house.bags, house.book, house.roles
    drafts = Drafts(house.choices)
    press = NoteService(book=book, kits=kits, roles=roles, outbox=house.outbox)
    publisher = Publisher(client=bot, outbox=house.outbox, draw=house.pictures.of_body)
    forme = ForMeService(book=book, kits=kits, bags=bags, told=house.told)
    return [
        SetupCog(roles=roles),
        EventCog(EventService(book=book, kits=kits, bags=bags), roles, bags),
        LineCog(LineService(book=book, drafts=drafts, kits=kits, bags=bags), roles, house.pictures),
        ForMeCog(bot=bot, service=forme, pictures=house.pictures),
        NotesCog(bot=bot, press=press, publisher=publisher, bags=bags, roles=roles),
        _poll_cog(house, bot, press=press, publisher=publisher),
        *_results_cogs(house, bot, press=press, publisher=publisher),
    ]


def _poll_cog(
    house: Services, bot: commands.Bot, *, press: NoteService, publisher: Publisher
) -> commands.Cog:
    """Polls, which speak on the notes too."""
    service = PollService(db=house.db, book=house.book, outbox=house.outbox)
    press.extras.append(service.note_lines)
    messages = PollMessages(bot)
    watch = PollWatch(service=service, messages=messages, publisher=publisher, press=press)
    return PollCog(bot=bot, service=service, messages=messages, watch=watch, roles=house.roles)


def _results_cogs(
    house: Services, bot: commands.Bot, *, press: NoteService, publisher: Publisher
) -> list[commands.Cog]:
    """Logged results, which speak on the notes too, and what is made of them."""
    db, kits, bags, book = house.db, house.kits, house.bags, house.book
    service = ResultService(
        db=db,
        book=book,
        kits=kits,
        bags=bags,
        choices=house.choices,
        learner=house.learner,
        told=house.told,
    )
    press.extras.append(service.note_lines)
    me = PrivacyService(db=db, bags=bags)
    sharing = ShareService(book=book, results=service, roles=house.roles)
    shares = ShareMessages(service=sharing, outbox=house.outbox)
    share = ShareCog(bot=bot, service=sharing, press=shares, publisher=publisher, roles=house.roles)
    return [
        share,
        ResultsCog(bot=bot, service=service, presses=(press, shares), publisher=publisher),
        CompareCog(CompareService(db=db, book=book, kits=kits, bags=bags), house.pictures.pool),
        PracticeCog(PracticeService(db=db, book=book)),
        MeCog(bot=bot, service=me, book=book, presses=(press, shares), publisher=publisher),
    ]


class Leeward(commands.Bot):
    """The bot. It opens its house when it logs in and closes it when it goes."""

    def __init__(self, settings: Settings) -> None:
        super().__init__(
            command_prefix=commands.when_mentioned,
            intents=discord.Intents(guilds=True, guild_messages=True, polls=True),
            allowed_mentions=discord.AllowedMentions.none(),
            help_command=None,
        )
        self.settings = settings
        self.house: Services | None = None
        self.tree.error(on_tree_error)

    async def setup_hook(self) -> None:
        """Open the house, add the features and tell Discord their commands."""
        self.house = await open_services(self.settings)
        for cog in cogs(self.house, self):
            await self.add_cog(cog)
        self.add_dynamic_items(LineButton)
        synced = await self.tree.sync()
        log.info("synced %d commands", len(synced))
        self.house.pictures.pool.warm_soon()

    async def units_of(self, community_id: int, member_id: int) -> UnitSystem:
        """In which units a member reads."""
        if self.house is None:
            return "yards"
        return (await self.house.bags.get(community_id, member_id)).units

    async def close(self) -> None:
        """Let the last changes be told, leave Discord, then close the database."""
        if self.house is not None:
            with suppress(TimeoutError):
                await asyncio.wait_for(self.house.book.all_told(), GOODBYE_S)
        await super().close()
        if self.house is not None:
            await self.house.pictures.pool.close()
            await self.house.db.close()
            self.house = None


def make_bot(settings: Settings) -> Leeward:
    """A bot ready to be started."""
    return Leeward(settings)
