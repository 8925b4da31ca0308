"""The composition root: settings -> services -> bot. Every feature is wired here."""

import asyncio
import gc
import logging
from contextlib import suppress

import discord
from discord.ext import commands

from bot.chat.cooldown import Cooldowns, NoCooldowns
from bot.chat.message import RoutedButton, RoutedMenu, plain_embed
from bot.chat.publisher import Publisher
from bot.chat.respond import COMMUNITY, Interaction, community_of, on_tree_error, respond
from bot.chat.router import PatientTree, Router
from bot.commands.bag.cog import BagCog
from bot.commands.book.cup_cog import CupCog
from bot.commands.book.event_cog import EventCog
from bot.commands.book.line_cog import LineCog
from bot.commands.compare.cog import CompareCog
from bot.commands.for_me.cog import ForMeCog
from bot.commands.for_me.round_cog import RoundCog
from bot.commands.help.cog import HelpCog
from bot.commands.kit.cog import KitCog
from bot.commands.me.cog import MeCog
from bot.commands.measure.cog import MeasureCog
from bot.commands.next_shot.cog import NextShotCog
from bot.commands.notes.card import note_body
from bot.commands.notes.cog import NotesCog
from bot.commands.pictures.cog import PicturesCog
from bot.commands.polls.cards import OutcomeBodies
from bot.commands.polls.cog import PollCog
from bot.commands.polls.poll_messages import PollMessages
from bot.commands.polls.watch import PollWatch
from bot.commands.practice.cog import PracticeCog
from bot.commands.results.cog import ResultsCog
from bot.commands.retry.retries import Retries
from bot.commands.setup.cog import SetupCog
from bot.commands.share.card import share_body
from bot.commands.share.cog import ShareCog
from bot.commands.trust.cog import TrustCog
from bot.commands.upkeep.cog import UpkeepCog
from bot.commands.wind.cog import WindCog
from bot.commands.wind.equal_cog import EqualCog
from bot.commands.wind.messages import CHOOSE, MessagesCog, home_view
from bot.services.book.batches import LineBatches
from bot.services.book.drafts import Drafts
from bot.services.book.event_service import EventService
from bot.services.book.line_service import LineService
from bot.services.book.rounds import RoundStarts
from bot.services.compare.service import CompareService
from bot.services.division_roles import KEPT_MEMBERS
from bot.services.for_me import ForMeService
from bot.services.homes import HomeService
from bot.services.kits.service import KitService
from bot.services.learning.full_pass import FullPass
from bot.services.learning.trust_service import TrustService
from bot.services.line_chances.safer import SaferLines
from bot.services.measure.results import MeasuredResults
from bot.services.measure.service import MeasureService
from bot.services.next_shot.service import NextShotService
from bot.services.notes.service import NoteService
from bot.services.polls.service import PollService
from bot.services.practice import PracticeService
from bot.services.privacy import PrivacyService
from bot.services.reminders import RoundReminders
from bot.services.results.service import ResultService
from bot.services.round import RoundService
from bot.services.setup import SetupService
from bot.services.sharing.messages import ShareMessages
from bot.services.sharing.service import ShareService
from bot.services.upkeep import Upkeep
from bot.services.wind.service import WindService
from bot.settings import Settings
from bot.wiring import Services, homes_of, open_services
from shared.errors import LeewardError
from shared.units import UnitSystem
from storage.drafts import Drafts as KeptDrafts
from storage.stale import StaleMessages

log = logging.getLogger(__name__)

GOODBYE_S = 5.0  # for notes on their way when the bot is told to stop


def cogs(
    services: Services,
    bot: commands.Bot,
    router: Router,
    retries: Retries | None = None,
    homes: HomeService | None = None,
) -> list[commands.Cog]:
    """Every command family, with what it calls."""
    each = services
    retries, homes = retries or Retries(router), homes or homes_of(each, bot)
    wind = WindService(kits=each.kits, bags=each.bags, told=each.told, law=each.law)
    return [
        SetupCog(
            router=router,
            service=SetupService(each.roles, each.division_roles, each.book),
            roles=each.roles,
            outbox=each.outbox,
        ),
        *_prepared(each, bot, router),
        *_played(each, bot, router, homes),
        *_learning(each, bot, router),
        PicturesCog(router=router, service=each.pictures, guides=each.guides),
        WindCog(router=router, service=wind),
        MessagesCog(bot=bot, router=router, service=wind, homes=homes, retries=retries),
        EqualCog(router=router, service=wind),
        NextShotCog(NextShotService(kits=each.kits, bags=each.bags, chances=each.chances)),
        BagCog(kits=each.kits, bags=each.bags),
        HelpCog(kits=each.kits, bags=each.bags, roles=each.roles),
        UpkeepCog(
            bot=bot,
            upkeep=Upkeep(each.db, back_up=each.back_up),
            outbox=each.outbox,
            figures=router.figures,
        ),
    ]


def _prepared(services: Services, bot: commands.Bot, router: Router) -> list[commands.Cog]:
    """What a coach makes: the event and its lines."""
    book, kits, bags, roles = services.book, services.kits, services.bags, services.roles
    drafts = KeptDrafts(services.db)
    events = EventService(book=book, drafts=drafts, kits=kits, bags=bags)
    lines = LineService(book=book, drafts=Drafts(drafts), kits=kits, bags=bags)
    reminders = RoundReminders(db=services.db, book=book)
    return [
        CupCog(
            router=router,
            events=events,
            lines=lines,
            roles=roles,
            bags=bags,
            reminders=reminders,
            pictures=services.pictures,
        ),
        EventCog(
            bot=bot,
            router=router,
            service=events,
            roles=roles,
            starts=RoundStarts(db=services.db, book=book),
            reminders=reminders,
        ),
        LineCog(
            router=router,
            service=lines,
            batches=LineBatches(book=book, drafts=drafts, kits=kits, bags=bags),
            roles=roles,
        ),
        KitCog(
            router=router,
            kits=kits,
            bags=bags,
            service=KitService(
                db=services.db,
                kits=kits,
                kept=services.kept_kits,
                bags=bags,
                book=book,
                drafts=drafts,
            ),
            roles=roles,
        ),
    ]


def _played(
    services: Services, bot: commands.Bot, router: Router, homes: HomeService
) -> list[commands.Cog]:
    """What members do with it: lines for themselves, the round, what went in."""
    each = services
    forme = ForMeService(
        book=each.book,
        kits=each.kits,
        bags=each.bags,
        told=each.told,
        verdicts=each.verdicts,
        safer=SaferLines(lines=each.lines, chances=each.chances),
    )
    results = _results(each)
    rounds = RoundService(db=each.db, book=each.book, for_me=forme, results=results)
    publisher = Publisher(
        client=bot,
        outbox=each.outbox,
        stale=StaleMessages(each.db),
        draw=each.pictures.of_body,
        name_of=each.book.name_of,
    )
    return [
        ForMeCog(router=router, service=forme, pictures=each.pictures),
        RoundCog(router=router, service=rounds),
        *_published(each, bot, router, publisher, homes, results),
    ]


def _results(services: Services) -> ResultService:
    return ResultService(
        db=services.db,
        book=services.book,
        kits=services.kits,
        bags=services.bags,
        choices=services.choices,
        learner=services.learner,
        told=services.told,
        measured=MeasuredResults(
            db=services.db, kits=services.kits, bags=services.bags, learner=services.learner
        ),
    )


def _published(
    services: Services,
    bot: commands.Bot,
    router: Router,
    publisher: Publisher,
    homes: HomeService,
    results: ResultService,
) -> list[commands.Cog]:
    """What stands in channels: notes, polls, shared lines; and results, which all three show."""
    db, book, kits, bags = services.db, services.book, services.kits, services.bags
    roles, outbox, verdicts = services.roles, services.outbox, services.verdicts
    polls = PollService(db=db, book=book, outbox=outbox, verdicts=verdicts, render=OutcomeBodies())
    notes = NoteService(book=book, kits=kits, roles=roles, outbox=outbox, render=note_body)
    notes.extras += [polls.note_lines, results.note_lines, verdicts.note_lines]
    sharing = ShareService(book=book, results=results, roles=roles)
    shared = ShareMessages(service=sharing, outbox=outbox, render=share_body)
    publisher.add_source(notes.refresh)
    publisher.add_source(shared.refresh)
    publisher.add_source(polls.refresh)
    book.on_change(publisher.refresh)
    kits.on_other_answers(notes.computes_otherwise)
    messages = PollMessages(bot)
    watch = PollWatch(service=polls, messages=messages, publisher=publisher, roles=roles)
    privacy = PrivacyService(db=db, bags=bags, told=services.told)
    return [
        NotesCog(bot=bot, router=router, notes=notes, publisher=publisher, bags=bags, roles=roles),
        PollCog(bot=bot, service=polls, messages=messages, watch=watch, roles=roles),
        ShareCog(
            bot=bot,
            router=router,
            service=sharing,
            messages=shared,
            publisher=publisher,
            roles=roles,
        ),
        ResultsCog(router=router, service=results),
        *_compared(services),
        MeCog(router=router, service=privacy, book=book, publisher=publisher, homes=homes),
    ]


def _compared(services: Services) -> list[commands.Cog]:
    """A hole's lines beside each other, and what to try next; both also by what is computed."""
    each = services
    book, verdicts, lines, chances = each.book, each.verdicts, each.lines, each.chances
    compare = CompareService(
        db=each.db, book=book, bags=each.bags, verdicts=verdicts, lines=lines, chances=chances
    )
    practice = PracticeService(book=book, verdicts=verdicts, lines=lines, chances=chances)
    return [CompareCog(compare, each.pictures.pool), PracticeCog(practice)]


def _learning(services: Services, bot: commands.Bot, router: Router) -> list[commands.Cog]:
    """What the shots teach, a coach's decisions about it, and measuring on purpose."""
    db, kits, bags, roles = services.db, services.kits, services.bags, services.roles
    learner = services.learner
    trust = TrustService(db=db, kits=kits, learner=learner, decisions=services.decisions)
    measure = MeasureService(
        db=db,
        kits=kits,
        kept=services.kept_kits,
        bags=bags,
        learner=learner,
        trust=trust,
    )
    return [
        TrustCog(
            bot=bot,
            service=trust,
            full_pass=FullPass(db=db, kits=kits, learner=learner),
            roles=roles,
            bags=bags,
            pool=services.pictures.pool,
            chances=services.chances,
        ),
        MeasureCog(router=router, service=measure, bags=bags, roles=roles),
    ]


class Leeward(commands.Bot):
    """The bot. It opens its services when it logs in and closes them when it goes."""

    def __init__(self, settings: Settings) -> None:
        super().__init__(
            command_prefix=commands.when_mentioned,
            intents=discord.Intents(guilds=True, messages=True, polls=True),
            allowed_mentions=discord.AllowedMentions.none(),
            help_command=None,
            tree_cls=PatientTree,
            shard_id=settings.shard.number,
            shard_count=settings.shard.count,
        )
        self.settings = settings
        self.router = Router(cooldowns=NoCooldowns() if settings.unhurried else Cooldowns())
        self.retries = Retries(self.router)
        self.services: Services | None = None
        self._homes: HomeService | None = None
        self.tree.error(on_tree_error)

    async def setup_hook(self) -> None:
        """Open the services, add the features and tell Discord their commands."""
        self.services = await open_services(self.settings)
        self._homes = homes_of(self.services, self)
        for cog in cogs(self.services, self, self.router, self.retries, self._homes):
            await self.add_cog(cog)
        self.add_dynamic_items(RoutedButton, RoutedMenu)
        if self.settings.shard.is_first:
            synced = await self.tree.sync()
            log.info("synced %d commands", len(synced))
        self.services.pictures.pool.warm_soon()
        if not self.settings.one_process:
            await asyncio.to_thread(self.services.law.start)
            # What stands now stands for good; to look through it held the loop for .1 s, measured.
            gc.collect()
            gc.freeze()

    async def on_interaction(self, interaction: Interaction) -> None:
        """Hand filled forms to their features; commands and buttons find theirs by themselves."""
        await self.router.route_form(interaction)

    async def on_message(self, message: discord.Message) -> None:
        """Leave messages to who listens for questions: there are no commands with a prefix."""

    def note_roles(self, interaction: Interaction) -> None:
        """Take in which divisions' roles a member has."""
        member = interaction.user
        if self.services is not None and isinstance(member, discord.Member):
            held, key = self.services.division_roles.held, (community_of(interaction), member.id)
            held[key] = frozenset(role.id for role in member.roles)
            held.move_to_end(key)
            if len(held) > KEPT_MEMBERS:
                held.popitem(last=False)

    async def settle_home(self, interaction: Interaction) -> bool:
        """Say in the interaction whose bag answers; False where the member was asked first."""
        assert self._homes is not None
        home = await self._homes.of(interaction.user.id)
        if home.community_id is not None:
            interaction.extras[COMMUNITY] = home.community_id
            return True
        if interaction.type is discord.InteractionType.autocomplete:
            await interaction.response.autocomplete([])
            return False
        text = str(getattr(interaction.namespace, "question", ""))
        embed = plain_embed(CHOOSE, ["Asked once; /me home on a server changes it."])
        await respond(interaction, embed=embed, view=home_view(self, home, text), ephemeral=True)
        return False

    def offer_retry(self, interaction: Interaction, error: LeewardError) -> discord.ui.View | None:
        """Buttons that let a member change a refused text."""
        return self.retries.offer(interaction, error)

    async def ask_again(self, interaction: Interaction, token: int) -> bool:
        """Ask once more what was refused; False where it is kept no more."""
        return await self.retries.again(interaction, token)

    async def units_of(self, community_id: int, member_id: int) -> UnitSystem:
        """In which units a member reads."""
        if self.services is None:
            return "yards"
        return (await self.services.bags.get(community_id, member_id)).units

    async def _all_done(self, services: Services) -> None:
        await self.router.all_answered()
        await services.book.all_told()
        await services.told.all_kept()

    async def close(self) -> None:
        """Let the last changes be told, leave Discord, then close the database."""
        if self.services is not None:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._all_done(self.services), GOODBYE_S)
        await super().close()
        if self.services is not None:
            await self.services.pictures.pool.close()
            await asyncio.to_thread(self.services.law.close)
            await self.services.db.close()
            self.services = None


def make_bot(settings: Settings) -> Leeward:
    """A bot ready to be started."""
    return Leeward(settings)
