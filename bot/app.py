"""The composition root: settings -> house (storage, caddie) -> bot. Every feature is wired here."""

import asyncio
import logging
from contextlib import suppress

import discord
from discord.ext import commands

from bot.bag.cog import BagCog
from bot.book.buttons import LineButton
from bot.book.drafts import Drafts
from bot.book.event_cog import EventCog
from bot.book.event_desk import EventDesk
from bot.book.line_cog import LineCog
from bot.book.line_desk import LineDesk
from bot.chat.respond import on_tree_error
from bot.compare.cog import CompareCog
from bot.compare.desk import CompareDesk
from bot.draw.cog import DrawCog
from bot.equal.cog import EqualCog
from bot.forme.cog import ForMeCog
from bot.forme.desk import ForMeDesk
from bot.help.cog import HelpCog
from bot.house import House, open_house
from bot.kit.cog import KitCog
from bot.learning.cog import LearningCog
from bot.learning.desk import TrustDesk
from bot.learning.refresh import Refresher
from bot.me.cog import MeCog
from bot.me.desk import MeDesk
from bot.measure.cog import MeasureCog
from bot.measure.desk import MeasureDesk
from bot.notes.cog import NotesCog
from bot.notes.press import NotesPress
from bot.polls.booth import PollBooth
from bot.polls.cog import PollCog
from bot.polls.desk import PollDesk
from bot.polls.watch import PollWatch
from bot.post.postman import Postman
from bot.practice.cog import PracticeCog
from bot.practice.desk import PracticeDesk
from bot.results.cog import ResultsCog
from bot.results.desk import ResultDesk
from bot.results.share_cog import ShareCog
from bot.results.share_desk import ShareDesk
from bot.results.share_press import SharePress
from bot.roles.setup_cog import SetupCog
from bot.settings import Settings
from bot.wind.cog import WindCog
from bot.wind.desk import WindDesk
from shared.units import UnitSystem
from storage.results import Results

log = logging.getLogger(__name__)

LAST_WORDS_S = 5.0  # for notes on their way when the bot is told to stop


def cogs(house: House, bot: commands.Bot) -> list[commands.Cog]:
    """Every feature's chat side."""
    desk = WindDesk(kits=house.kits, bags=house.bags, told=house.told)
    return [
        *_book_cogs(house, bot),
        *_learning_cogs(house, bot),
        DrawCog(bot=bot, desk=house.draw),
        WindCog(desk),
        EqualCog(desk),
        BagCog(kits=house.kits, bags=house.bags),
        KitCog(kits=house.kits, bags=house.bags),
        HelpCog(kits=house.kits, bags=house.bags),
    ]


def _learning_cogs(house: House, bot: commands.Bot) -> list[commands.Cog]:
    """The gains, a coach's decisions about them, and measuring on purpose."""
    desk = TrustDesk(db=house.db, kits=house.kits, learner=house.learner, ledger=house.ledger)
    refresher = Refresher(db=house.db, kits=house.kits, learner=house.learner)
    measure = MeasureDesk(
        settings=house.settings,
        results=Results(house.db),
        kits=house.kits,
        kept=house.kept_kits,
        bags=house.bags,
        learner=house.learner,
        trust=desk,
    )
    roles, bags = house.roles, house.bags
    return [
        LearningCog(
            bot=bot,
            desk=desk,
            refresher=refresher,
            roles=roles,
            bags=bags,
            press=house.draw.press,
        ),
        MeasureCog(bot=bot, desk=measure, bags=bags, roles=roles),
    ]


def _book_cogs(house: House, bot: commands.Bot) -> list[commands.Cog]:
    """The book and the notes that go out of it."""
    kits, bags, book, roles = house.kits, house.bags, house.book, house.roles
    drafts = Drafts(house.choices)
    press = NotesPress(book=book, kits=kits, roles=roles, outbox=house.outbox)
    postman = Postman(client=bot, outbox=house.outbox, press=house.draw.press)
    forme = ForMeDesk(book=book, kits=kits, bags=bags, told=house.told)
    return [
        SetupCog(roles=roles),
        EventCog(EventDesk(book=book, kits=kits, bags=bags), roles, bags),
        LineCog(LineDesk(book=book, drafts=drafts, kits=kits, bags=bags), roles, house.draw),
        ForMeCog(bot=bot, desk=forme, draw=house.draw),
        NotesCog(bot=bot, press=press, postman=postman, bags=bags, roles=roles),
        _poll_cog(house, bot, press=press, postman=postman),
        *_results_cogs(house, bot, press=press, postman=postman),
    ]


def _poll_cog(
    house: House, bot: commands.Bot, *, press: NotesPress, postman: Postman
) -> commands.Cog:
    """Polls, which speak on the notes too."""
    desk = PollDesk(db=house.db, book=house.book, outbox=house.outbox)
    press.extras.append(desk.note_lines)
    booth = PollBooth(bot)
    watch = PollWatch(desk=desk, booth=booth, postman=postman, press=press)
    return PollCog(bot=bot, desk=desk, booth=booth, watch=watch, roles=house.roles)


def _results_cogs(
    house: House, bot: commands.Bot, *, press: NotesPress, postman: Postman
) -> list[commands.Cog]:
    """Logged results, which speak on the notes too, and what is made of them."""
    db, kits, bags, book = house.db, house.kits, house.bags, house.book
    desk = ResultDesk(
        db=db,
        book=book,
        kits=kits,
        bags=bags,
        choices=house.choices,
        learner=house.learner,
        told=house.told,
    )
    press.extras.append(desk.note_lines)
    me = MeDesk(db=db, bags=bags)
    sharing = ShareDesk(book=book, results=desk, roles=house.roles)
    shares = SharePress(desk=sharing, outbox=house.outbox)
    share = ShareCog(bot=bot, desk=sharing, press=shares, postman=postman, roles=house.roles)
    return [
        share,
        ResultsCog(bot=bot, desk=desk, presses=(press, shares), postman=postman),
        CompareCog(CompareDesk(db=db, book=book, kits=kits, bags=bags), house.draw.press),
        PracticeCog(PracticeDesk(db=db, book=book)),
        MeCog(bot=bot, desk=me, book=book, presses=(press, shares), postman=postman),
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
        self.house: House | None = None
        self.tree.error(on_tree_error)

    async def setup_hook(self) -> None:
        """Open the house, add the features and tell Discord their commands."""
        self.house = await open_house(self.settings)
        for cog in cogs(self.house, self):
            await self.add_cog(cog)
        self.add_dynamic_items(LineButton)
        synced = await self.tree.sync()
        log.info("synced %d commands", len(synced))
        self.house.draw.press.warm_soon()

    async def units_of(self, community_id: int, member_id: int) -> UnitSystem:
        """In which units a member reads."""
        if self.house is None:
            return "yards"
        return (await self.house.bags.get(community_id, member_id)).units

    async def close(self) -> None:
        """Let the last changes be told, leave Discord, then close the database."""
        if self.house is not None:
            with suppress(TimeoutError):
                await asyncio.wait_for(self.house.book.all_told(), LAST_WORDS_S)
        await super().close()
        if self.house is not None:
            await self.house.draw.press.close()
            await self.house.db.close()
            self.house = None


def make_bot(settings: Settings) -> Leeward:
    """A bot ready to be started."""
    return Leeward(settings)
