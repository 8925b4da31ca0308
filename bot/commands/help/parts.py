"""What the help says of every command, in parts: for everybody, for coaches, for managers."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """Commands that belong together and what they do; ``anywhere``: also outside a server."""

    commands: tuple[str, ...]
    words: str
    anywhere: bool = False


@dataclass(frozen=True)
class Part:
    """A part of the help."""

    title: str
    rows: tuple[Row, ...]


def _row(commands: str, words: str, *, anywhere: bool = False) -> Row:
    return Row(tuple(each.strip() for each in commands.split(",")), words, anywhere)


MEMBERS = (
    Part(
        "Ask",
        (
            _row("wind", "how far to aim off; or mention me with the question", anywhere=True),
            _row("aim", "the same, field by field", anywhere=True),
            _row("equal", "your clubs that reach a carry", anywhere=True),
            _row("next", "what to play from where the ball lies", anywhere=True),
            _row("sheet", "a page of allowances to keep open"),
        ),
    ),
    Part(
        "Your game",
        (
            _row("bag", "your grades, ball, units; answers for you alone", anywhere=True),
            _row("clubs", "what the game offers; its file too", anywhere=True),
            _row("me division", "which division you play in"),
            _row("me home", "this server's bag answers your direct messages"),
            _row("me export, me forget", "what is kept of you; away with it"),
        ),
    ),
    Part(
        "The cup",
        (
            _row("hole", "a hole's notes; For me moves a line to your wind and bag"),
            _row("round", "your round, hole by hole, for you alone", anywhere=True),
            _row("cup show, cup winds", "the cup, and all its winds"),
            _row("cup line", "a line in full"),
            _row("cup history", "what a hole or a line was before"),
            _row("cup export", "the cup as a file"),
            _row("ceiling", "how much wind a line holds"),
            _row("guide", "the round to print or to share"),
        ),
    ),
    Part(
        "What went in",
        (
            _row("results", "your last results: correct, take back"),
            _row("share", "a shot that went in, for the group"),
            _row("compare, table", "a hole's lines; the round hole by hole"),
            _row("practice", "where your entries help most"),
            _row("polls", "the polls that are open"),
            _row("trust", "what the group's shots say of a club"),
            _row("measure", "measure a club, shot by shot"),
            _row("decisions", "what coaches decided, and why"),
            _row("help", "this page", anywhere=True),
        ),
    ),
)

COACHES = (
    Part(
        "Coach: the cup",
        (
            _row("event new", "begin one in a form, a hole a row"),
            _row("event file, event load", "an empty file to fill in; take one in"),
            _row("event copy", "the next one from this one"),
            _row("event hole, event winds", "a hole's facts; a round's winds"),
            _row("event use, event round", "make it current; which round is on"),
            _row("event dates", "when rounds begin by themselves"),
            _row("event rename, event delete", "for drafts; deleted ones come back"),
            _row("publish", "post the notes; they follow every change"),
        ),
    ),
    Part(
        "Coach: lines",
        (
            _row("line add, line edit", "one line, a shot a row"),
            _row("line many", "many at once, one a row"),
            _row("line copy", "to a division or a hole, moved to its wind"),
            _row("line status, line retire", "how far it has come; off the notes"),
            _row("line bring-back", "an earlier text; see /cup history"),
        ),
    ),
    Part(
        "Coach: the group",
        (
            _row("kit load, kit export", "your own game's file"),
            _row("kit history", "every game you loaded; one comes back"),
            _row("sharing", "post shares at once, or after your approval"),
            _row("poll hole, poll ask, poll end", "votes on lines or your own question"),
            _row("gain freeze, gain release", "hold a club at what is known; let go"),
            _row("gain leave-out, gain reset", "one result; a club after an update"),
        ),
    ),
)

MANAGERS = (
    Part(
        "Who manages the server",
        (
            _row("setup start", "everything to set up once, step by step"),
            _row("setup coach, setup notes, setup audit", "one of these alone"),
            _row("setup show", "what is set up, and what Discord refused"),
        ),
    ),
)


def shown_name(commands: tuple[str, ...]) -> str:
    """Commands side by side; of one family the first has its whole name: '/event new, load'."""
    said: list[str] = []
    family = ""
    for command in commands:
        first, _, rest = command.partition(" ")
        said.append(f"**{rest}**" if rest and first == family else f"**/{command}**")
        family = first
    return ", ".join(said)
