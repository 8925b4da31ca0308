"""/trust: what is known of a club. /gain: what a coach decides about it, /decisions: what was."""

from discord import app_commands
from discord.ext import commands

from bot.chat.background import Background
from bot.chat.coaches import COACHES_SEE, coaches_only
from bot.chat.message import picture_file, plain_embed
from bot.chat.respond import Interaction, acknowledge, actor_of, choices, community_of, respond
from bot.commands.trust.cards import chances_embed, log_lines, trust_embed
from bot.drawing.pool import PicturePool
from bot.services.kits.names import clubs_like
from bot.services.learning.chances import ChanceService, chances_scene
from bot.services.learning.full_pass import FullPass
from bot.services.learning.scene import game_scene
from bot.services.learning.trust_service import TrustService
from bot.services.members import BagCache
from bot.services.roles import Roles

Choices = list[app_commands.Choice[str]]
PASS_EVERY_S = 6 * 3600.0
STALE_EVERY_S = 20.0  # a look at what is in memory
Reason = app_commands.Range[str, 1, 190]
WHY = "why, for the other coaches"


class TrustCog(commands.Cog):
    """Discord in and out for what is learned."""

    gain = app_commands.Group(
        name="gain",
        description="Decide what is learned from (coaches)",
        guild_only=True,
        default_permissions=COACHES_SEE,
    )

    def __init__(
        self,
        *,
        bot: commands.Bot,
        service: TrustService,
        full_pass: FullPass,
        roles: Roles,
        bags: BagCache,
        pool: PicturePool,
        chances: ChanceService,
    ) -> None:
        self.bot = bot
        self.service = service
        self._full_pass = full_pass
        self._pool = pool
        self._chances = chances
        self.roles = roles
        self.bags = bags
        self._weighed = False
        self.weigh_anew = Background("weighing results anew", self._weigh, every_s=PASS_EVERY_S)
        self.learn_anew = Background(
            "learning anew after a change of the law",
            full_pass.refresh_stale,
            every_s=STALE_EVERY_S,
        )

    async def cog_load(self) -> None:
        """Begin to weigh all results anew from time to time."""
        self.weigh_anew.start()
        self.learn_anew.start()

    async def cog_unload(self) -> None:
        """Stop it."""
        await self.weigh_anew.stop()
        await self.learn_anew.stop()

    @commands.Cog.listener()
    async def on_ready(self) -> None:
        """Which communities there are is known now."""
        if not self._weighed:
            await self.weigh_anew.once()

    async def _weigh(self) -> None:
        """The full pass of every community, one after the other; one that fails halts no other."""
        if not self.bot.is_ready():
            return
        self._weighed = True
        failed: Exception | None = None
        for guild in self.bot.guilds:
            try:
                await self._full_pass.refresh(guild.id)
            except Exception as error:
                failed = failed or error
        if failed is not None:
            raise failed

    @app_commands.command(name="trust", description="What the group's shots say of a club")
    @app_commands.guild_only()
    @app_commands.describe(club="without one: whether chances of going in can be trusted")
    async def trust(self, interaction: Interaction, club: str | None = None) -> None:
        """Show what a club's game does, shots, what was set aside, and drift; or the chances."""
        community = community_of(interaction)
        await acknowledge(interaction)
        if club is None:
            await self._chances_given(interaction, community)
            return
        report = await self.service.report(community, club)
        bag = await self.bags.get(community, interaction.user.id)
        units = bag.units
        embed = trust_embed(report, units, bag.grades.get(report.club))
        scene = game_scene(report, units)
        if scene is None:
            await respond(interaction, embed=embed, ephemeral=True)
            return
        embed.set_image(url="attachment://game.png")
        file = picture_file(await self._pool.game(scene), "game.png")
        await respond(interaction, embed=embed, file=file, ephemeral=True)

    async def _chances_given(self, interaction: Interaction, community: int) -> None:
        """What tries were given as a chance, against what went in."""
        earned = await self._chances.earned(community)
        embed, scene = chances_embed(earned), chances_scene(earned)
        if scene is None:
            await respond(interaction, embed=embed, ephemeral=True)
            return
        embed.set_image(url="attachment://chances.png")
        file = picture_file(await self._pool.chances(scene), "chances.png")
        await respond(interaction, embed=embed, file=file, ephemeral=True)

    @gain.command(name="freeze", description="Hold a club at what is known now (coaches)")
    @app_commands.describe(club="which club", reason=WHY)
    @coaches_only
    async def freeze(self, interaction: Interaction, club: str, reason: Reason) -> None:
        """Freeze a club."""
        name = await self.service.freeze(
            community_of(interaction), club, coach=actor_of(interaction).author, reason=reason
        )
        await _done(interaction, f"The {name} is frozen", "New shots are kept and change nothing.")

    @gain.command(name="release", description="Let a frozen club learn again (coaches)")
    @app_commands.describe(club="which club", reason=WHY)
    @coaches_only
    async def release(self, interaction: Interaction, club: str, reason: Reason) -> None:
        """Release a club."""
        name = await self.service.release(
            community_of(interaction), club, coach=actor_of(interaction).author, reason=reason
        )
        await _done(interaction, f"The {name} learns again", "Shots kept meanwhile count at once.")

    @gain.command(name="leave-out", description="Learn from one result no more (coaches)")
    @app_commands.describe(result="its number, as /trust shows it", reason=WHY)
    @coaches_only
    async def leave_out(
        self, interaction: Interaction, result: app_commands.Range[int, 1], reason: Reason
    ) -> None:
        """Leave out a result."""
        found = await self.service.leave_out(
            community_of(interaction), result, coach=actor_of(interaction).author, reason=reason
        )
        about = f"It stays in the tables; the {found.played.club} no longer learns from it."
        await _done(interaction, f"Result {found.id} is left out", about)

    @gain.command(name="reset", description="Forget a club's shots after a game update (coaches)")
    @app_commands.describe(club="which club", reason=WHY)
    @coaches_only
    async def reset(self, interaction: Interaction, club: str, reason: Reason) -> None:
        """Reset a club."""
        await acknowledge(interaction)
        name, count = await self.service.reset(
            community_of(interaction), club, coach=actor_of(interaction).author, reason=reason
        )
        about = f"{count} shots are no longer learned from; they stay in the tables."
        await _done(interaction, f"The {name} begins anew", about)

    @app_commands.command(name="decisions", description="What coaches decided, and why")
    @app_commands.guild_only()
    async def decisions(self, interaction: Interaction) -> None:
        """Show the decisions."""
        decisions = await self.service.decisions.log(community_of(interaction))
        await respond(
            interaction, embed=plain_embed("Decisions", log_lines(decisions)), ephemeral=True
        )

    @trust.autocomplete("club")
    @freeze.autocomplete("club")
    @release.autocomplete("club")
    @reset.autocomplete("club")
    async def _clubs(self, interaction: Interaction, current: str) -> Choices:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(clubs_like(caddie.kit, current))


async def _done(interaction: Interaction, title: str, about: str) -> None:
    lines = [about, "It stands in /decisions."]
    await respond(interaction, embed=plain_embed(title, lines), ephemeral=True)
