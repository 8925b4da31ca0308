"""What a change of the book changed: for the summary a coach reads and for those who listen."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from bot.services.book.stored import Kept
from shared.book import Event
from shared.keys import BookKey, EventKey
from shared.wording import plural
from storage.revisions import Draft

LineName = tuple[int, str]


@dataclass(frozen=True)
class EventDiff:
    """How an event differs from the one that stood there; ``new`` when none did."""

    event: Event
    new: bool
    frame: bool = False
    holes: tuple[int, ...] = ()
    holes_removed: tuple[int, ...] = ()
    added: tuple[LineName, ...] = ()
    changed: tuple[LineName, ...] = ()
    removed: tuple[LineName, ...] = ()
    authors: dict[LineName, str] = field(default_factory=dict[LineName, str])
    made_current: bool = False
    newer: tuple[LineName, ...] = ()

    @property
    def nothing(self) -> bool:
        """Whether the book says just what it said before."""
        parts = (self.holes, self.holes_removed, self.added, self.changed, self.removed)
        return not (self.new or self.frame or any(parts))

    @property
    def touched(self) -> frozenset[int]:
        """The holes whose notes may read otherwise now."""
        if self.new or self.frame or self.made_current:
            return frozenset(hole.number for hole in self.event.holes) | set(self.holes_removed)
        lines = (*self.added, *self.changed, *self.removed)
        return frozenset((*self.holes, *self.holes_removed, *(hole for hole, _ in lines)))

    def as_current(self) -> "EventDiff":
        """The same, of an event that has just become the current one."""
        return replace(self, made_current=True)


def with_newer(
    old: Kept | None, event: Event, since: datetime | None
) -> tuple[Event, tuple[LineName, ...]]:
    """The event with the lines that are newer in the book than ``since``, and their names.

    A file made before them can't speak of them: they stand as they are.
    """
    if old is None or since is None:
        return event, ()
    newer: list[LineName] = []
    holes = list(event.holes)
    for at, hole in enumerate(holes):
        before = old.event.hole(hole.number)
        for line in before.lines if before else ():
            revision = old.revision(event.key.hole(hole.number).line(line.variant))
            if revision is None or revision.created_at <= since or line == hole.line(line.variant):
                continue
            newer.append((hole.number, line.variant))
            own = (line.variant, line.shared_as)
            others = [each for each in holes[at].lines if each.variant not in own]
            holes[at] = holes[at].model_copy(update={"lines": (*others, line)})
    return event.model_copy(update={"holes": tuple(holes)}), tuple(newer)


def difference(old: Kept | None, event: Event, drafts: Sequence[Draft]) -> EventDiff:
    """What ``drafts``, the whole of ``event``, would change of what stands."""
    if old is None:
        lines = tuple((h.number, line.variant) for h in event.holes for line in h.lines)
        return EventDiff(event=event, new=True, added=lines)
    wanted = {(draft.kind, draft.key): draft.body for draft in drafts}
    key = event.key
    lines = [(h.number, line.variant) for h in event.holes for line in h.lines]
    had = [(h.number, line.variant) for h in old.event.holes for line in h.lines]

    def differs(at: BookKey) -> bool:
        stands = old.revision(at)
        return stands is None or stands.body != wanted[at.kind, str(at)]

    changed = [x for x in lines if x in had and differs(key.hole(x[0]).line(x[1]))]
    removed = [x for x in had if x not in lines]
    numbers = [hole.number for hole in event.holes]
    return EventDiff(
        event=event,
        new=False,
        frame=differs(key),
        holes=tuple(n for n in numbers if differs(key.hole(n))),
        holes_removed=tuple(h.number for h in old.event.holes if h.number not in numbers),
        added=tuple(x for x in lines if x not in had),
        changed=tuple(changed),
        removed=tuple(removed),
        authors={x: _author(old, key, x) for x in (*changed, *removed)},
    )


def _author(old: Kept, key: EventKey, line: LineName) -> str:
    revision = old.revision(key.hole(line[0]).line(line[1]))
    return (revision.author_name if revision else None) or "somebody"


def diff_lines(diff: EventDiff) -> list[str]:
    """The summary of a load, one sentence a line; names of people are not made safe here."""
    event = diff.event
    count = sum(len(hole.lines) for hole in event.holes)
    total = f"{plural(len(event.holes), 'hole')}, {plural(count, 'line')}"
    newer = _newer(diff)
    if diff.nothing and not newer:
        return [f"Nothing changed: the book already says all of this ({total})."]
    if diff.new:
        return [f"A new event: {total}."]
    said: list[str] = []
    if diff.frame:
        said.append("Divisions or rounds changed.")
    if diff.holes:
        said.append(f"Changed: {_holes(diff.holes)}.")
    if diff.holes_removed:
        said.append(f"Removed: {_holes(diff.holes_removed)}.")
    for verb, names in (("New", diff.added), ("Changed", diff.changed), ("Removed", diff.removed)):
        if names:
            said.append(f"{verb}: {_lines(names, diff.authors)}.")
    if diff.changed or diff.removed:
        said.append("What was there before is kept: see /line history.")
    return [*said, *newer, f"Now {total}."]


def _newer(diff: EventDiff) -> list[str]:
    if not diff.newer:
        return []
    names = _lines(diff.newer, {})
    return [
        f"Newer in the book than the file, and left as they are: {names}. "
        "Take the file's first line (# exported …) out and load again to have it replace them."
    ]


def _holes(numbers: Sequence[int]) -> str:
    noun = "hole" if len(numbers) == 1 else "holes"
    return f"{noun} {', '.join(map(str, numbers))}"


NAMED_LINES = 12


def _lines(names: Sequence[LineName], authors: dict[LineName, str]) -> str:
    shown: list[str] = []
    for name in names[:NAMED_LINES]:
        by = f" (last by {authors[name]})" if name in authors else ""
        shown.append(f"{name[0]}{name[1]}{by}")
    more = f" and {len(names) - NAMED_LINES} more" if len(names) > NAMED_LINES else ""
    return f"{'line' if len(names) == 1 else 'lines'} {', '.join(shown)}{more}"
