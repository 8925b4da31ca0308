"""/practice: what to test next."""

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.message import plain_embed
from bot.chat.respond import Interaction, acknowledge, actor_of, respond
from bot.services.practice import Leaders, Practice, PracticeService
from bot.services.results.outcome import tries_words

RULE = (
    "Each try goes where it is expected to add most holes holed, if afterwards everybody plays "
    "the line that then looks best."
)
COMPUTED = (
    "Lines begin from their computed chance of going in: the less sure it is, the more a try can "
    "show."
)
MOST_APART = 1000  # tries; of more nobody thinks as of something to do
LEAST_SAID = 0.005  # holes a round; less is not worth a number


class PracticeCog(commands.Cog):
    """Discord in and out for practice."""

    def __init__(self, service: PracticeService) -> None:
        self.service = service

    @app_commands.command(name="practice", description="Where your practice entries help most")
    @app_commands.guild_only()
    @app_commands.describe(entries="how many you have left")
    async def practice(
        self, interaction: Interaction, entries: app_commands.Range[int, 1, 200] = 10
    ) -> None:
        """Show where to spend practice entries."""
        await acknowledge(interaction)
        plan = await self.service.plan(actor_of(interaction), entries)
        await respond(interaction, embed=practice_embed(plan), ephemeral=True)


def practice_embed(found: Practice) -> discord.Embed:
    """What to do first, then the rest of the plan and why."""
    lines = [
        f"**Hole {each.hole}, line {found.letters[int(each.hole)][each.variant]}** "
        f"{tries_words(each.tries)}"
        for each in found.plan.allocations
    ]
    if not lines:
        return plain_embed("No test would change what to play", ["The leaders are clear enough."])
    first = found.plan.allocations[0]
    letter = found.letters[int(first.hole)][first.variant]
    title = f"Begin with hole {first.hole}, line {letter}: {tries_words(first.tries)}"
    if found.plan.gain >= LEAST_SAID:
        lines.append(f"Expected gain: {found.plan.gain:.2f} more holes holed a round")
    else:
        lines.append("These begin a test that others have to finish.")
    if found.plan.unspent:
        lines.append(f"{tries_words(found.plan.unspent)} left over: no test needs them")
    if found.leaders is not None:
        lines.append(apart_words(found.leaders))
    if found.least_sure is not None:
        hole, variant = found.least_sure
        lines.append(f"Computed chance least sure: hole {hole}, line {variant}")
    rule = RULE if found.least_sure is None else f"{RULE} {COMPUTED}"
    lines.append(f"*{rule} Ask again after some tries.*")
    return plain_embed(title, lines)


def apart_words(leaders: Leaders) -> str:
    """How many tries would tell the two leaders of a hole apart."""
    pair = f"lines {leaders.first} and {leaders.second} of hole {leaders.hole}"
    if leaders.apart is None:
        return f"So far {pair} are expected to do equally well; nothing tells them apart yet."
    if leaders.apart.tries_each > MOST_APART:
        return f"So far {pair} are expected to do about equally well; no practice parts them."
    each = tries_words(leaders.apart.tries_each)
    low, high = sorted(leaders.rates)
    return (
        f"To tell {pair} apart would take {each} of each, if they really hole "
        f"{high:.0%} and {low:.0%}."
    )
