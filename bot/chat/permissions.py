"""What the bot has to be allowed in a channel, for each thing it does there."""

import discord

POST = ("view_channel", "send_messages", "embed_links")
NOTES = (*POST, "attach_files", "read_message_history")
POLL = ("view_channel", "send_messages", "send_polls", "embed_links", "read_message_history")
NEEDED = tuple(dict.fromkeys((*NOTES, *POLL, "send_messages_in_threads")))


def lacking(
    allowed: discord.Permissions, needed: tuple[str, ...], *, in_thread: bool = False
) -> list[str]:
    """Those of the needed permissions that are not given, by Discord's names for them.

    In a thread, to send is a permission of its own.
    """
    named = [
        "send_messages_in_threads" if in_thread and name == "send_messages" else name
        for name in needed
    ]
    return [name for name in named if not getattr(allowed, name)]


def lacking_in(
    channel: discord.abc.GuildChannel | discord.Thread, needed: tuple[str, ...]
) -> list[str]:
    """What the bot lacks in a channel, as Discord's settings write it: 'Send Messages'.

    A forum's posts are threads: to make one and to write in it are two permissions.
    """
    allowed = channel.permissions_for(channel.guild.me)
    thread = isinstance(channel, discord.Thread)
    missing = lacking(allowed, needed, in_thread=thread)
    if isinstance(channel, discord.ForumChannel):
        missing += lacking(allowed, ("send_messages_in_threads",))
    return [name.replace("_", " ").title() for name in missing]
