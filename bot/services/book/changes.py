"""What a change of the book changed: for the summary a coach reads and for those who listen."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from bot.services.book.against import Against, LineName, against_lines, holes_words, lines_words
from bot.services.book.stored import Kept
from shared.book import Event
from shared.keys import BookKey, EventKey
from shared.wording import plural
from storage.revisions import Draft


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
    kept: Against = field(default_factory=Against)

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
    stands = against_lines(diff.kept)
    newer = [*stands, "These stand as they are."] if stands else []
    if diff.nothing and not newer:
        return [f"Nothing changed: the book already says all of this ({total})."]
    if diff.new:
        return [f"A new event: {total}."]
    said: list[str] = []
    if diff.frame:
        said.append("Divisions or rounds changed.")
    if diff.holes:
        said.append(f"Changed: {holes_words(diff.holes)}.")
    if diff.holes_removed:
        said.append(f"Removed: {holes_words(diff.holes_removed)}.")
    for verb, names in (("New", diff.added), ("Changed", diff.changed), ("Removed", diff.removed)):
        if names:
            said.append(f"{verb}: {lines_words(names, diff.authors)}.")
    if diff.changed or diff.removed:
        said.append("What was there before is kept: see /cup history.")
    return [*said, *newer, f"Now {total}."]
