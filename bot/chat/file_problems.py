"""What is wrong in a file that a coach loads."""

import discord

from bot.chat.message import SAND
from shared import limits
from shared.text import clipped, plain
from shared.toml_file import FileProblemsError

SHOWN_PROBLEMS = 12
LONGEST_SENTENCE = 260


def problems_embed(error: FileProblemsError) -> discord.Embed:
    """Everything that is wrong in a file, by its line and field."""
    count = len(error.problems)
    lines: list[str] = []
    for problem in error.problems[:SHOWN_PROBLEMS]:
        place = f"**line {problem.line}** " if problem.line else ""
        field = f"{plain(problem.field)}: " if problem.field else ""
        lines.append(f"{place}{field}{plain(problem.sentence, LONGEST_SENTENCE)}")
    if count > SHOWN_PROBLEMS:
        lines.append(f"and {count - SHOWN_PROBLEMS} more")
    if error.example:
        lines.append(f"A right line: `{error.example.replace('`', chr(39))}`")
    things = "one thing" if count == 1 else f"{count} things"
    return discord.Embed(
        title=clipped(f"Nothing was loaded: {things} to put right", limits.TITLE),
        description=clipped("\n".join(lines), limits.DESCRIPTION),
        colour=SAND,
    )
