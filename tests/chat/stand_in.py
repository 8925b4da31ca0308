"""A small bot that has one of everything the practice ground must carry."""

import asyncio
import time
from datetime import timedelta
from typing import Any

import discord
from discord import app_commands
from discord.ext import commands, tasks

CUPS = ("Amber Cup", "Birch Cup", "Cobalt Cup")


class ShrugError(app_commands.AppCommandError):
    """What the stand-in answers with a sentence."""


class MissForm(discord.ui.Modal, title="Log a miss"):
    miss: discord.ui.Label[Any] = discord.ui.Label(
        text="How far right, in yards", component=discord.ui.TextInput(max_length=20)
    )

    async def on_submit(self, interaction: discord.Interaction) -> None:
        assert isinstance(self.miss.component, discord.ui.TextInput)
        await interaction.response.send_message(f"Logged {self.miss.component.value} yd right.")


class Buttons(discord.ui.View):
    def __init__(self) -> None:
        super().__init__(timeout=None)

    @discord.ui.button(label="Once more", custom_id="stand-in:more")
    async def more(self, interaction: discord.Interaction, _: discord.ui.Button[Any]) -> None:
        await interaction.response.send_message("Here it is once more.")

    @discord.ui.button(label="Log a miss", custom_id="stand-in:log")
    async def log(self, interaction: discord.Interaction, _: discord.ui.Button[Any]) -> None:
        await interaction.response.send_modal(MissForm())

    @discord.ui.button(label="Stumble", custom_id="stand-in:stumble")
    async def stumble(self, interaction: discord.Interaction, _: discord.ui.Button[Any]) -> None:
        raise ShrugError("lost my footing.")

    async def on_error(
        self, interaction: discord.Interaction, error: Exception, item: discord.ui.Item[Any]
    ) -> None:
        await interaction.response.send_message(f"Sorry: {error}", ephemeral=True)


class StandIn(commands.Bot):
    def __init__(self) -> None:
        intents = discord.Intents.default()
        intents.members = True
        super().__init__(
            commands.when_mentioned,
            intents=intents,
            allowed_mentions=discord.AllowedMentions.none(),
        )
        self.votes: list[int] = []
        self.was_closed = False
        self.worked_until_closed = False
        self.add_commands()
        self.tree.on_error = self.say_sorry

    async def setup_hook(self) -> None:
        self.add_view(Buttons())
        self.work.start()
        await self.tree.sync()

    @tasks.loop(hours=1)
    async def work(self) -> None:
        """Stand for what a bot does by itself."""

    async def close(self) -> None:
        self.was_closed = True
        self.worked_until_closed = self.work.is_running()
        await super().close()

    async def on_raw_poll_vote_add(self, payload: discord.RawPollVoteActionEvent) -> None:
        self.votes.append(payload.answer_id)

    async def say_sorry(
        self, interaction: discord.Interaction, error: app_commands.AppCommandError
    ) -> None:
        await interaction.response.send_message(f"Sorry: {error}", ephemeral=True)

    def add_commands(self) -> None:
        @self.tree.command(description="Show a cup by name")
        async def cup(interaction: discord.Interaction, name: str, loud: bool = False) -> None:
            embed = discord.Embed(title=name.upper() if loud else name, description="Nine holes.")
            await interaction.response.send_message(embed=embed, view=Buttons())

        @cup.autocomplete("name")
        async def cup_names(_: discord.Interaction, typed: str) -> list[app_commands.Choice[str]]:
            found = [cup for cup in CUPS if typed.casefold() in cup.casefold()]
            return [app_commands.Choice(name=f"{cup}, 9 holes", value=cup) for cup in found]

        @self.tree.command(description="Vote for a cup")
        async def ballot(interaction: discord.Interaction) -> None:
            poll = discord.Poll("Which cup next?", timedelta(hours=1))
            for name in CUPS:
                poll.add_answer(text=name)
            await interaction.response.send_message(poll=poll)

        @self.tree.command(description="Fail and say so")
        async def shrug(interaction: discord.Interaction) -> None:
            raise ShrugError("nothing to show.")

        del cup, cup_names, ballot, shrug
        self.add_slow_commands()

    def add_slow_commands(self) -> None:
        @self.tree.command(description="Say something more in a second")
        async def later(interaction: discord.Interaction) -> None:
            channel = interaction.channel
            assert isinstance(channel, discord.TextChannel)

            @tasks.loop(seconds=1, count=2)
            async def speak() -> None:
                if speak.current_loop == 1:
                    await channel.send("A second has passed.")

            await interaction.response.send_message("Wait for it.")
            speak.start()

        @self.tree.command(description="Take longer than anybody waits")
        async def dawdle(interaction: discord.Interaction) -> None:
            await asyncio.to_thread(time.sleep, 1.5)
            await interaction.response.send_message("At last.")

        @self.tree.command(description="Post something in the other room")
        async def note(interaction: discord.Interaction) -> None:
            assert interaction.guild is not None
            room = discord.utils.get(interaction.guild.text_channels, name="hole-notes")
            assert room is not None
            await room.send("Hole 4: aim left.")
            await interaction.response.send_message("Posted.", ephemeral=True)

        @self.tree.command(description="Tell the time")
        async def clock(interaction: discord.Interaction) -> None:
            await interaction.response.send_message(f"now {discord.utils.utcnow().isoformat()}")

        del later, dawdle, note, clock
