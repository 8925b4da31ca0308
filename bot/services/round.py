"""A member's round: hole by hole, the line for their division, bag and wind. Knows no Discord."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from bot.services.book.book import Book
from bot.services.for_me import ForMe, ForMeService
from bot.services.results.service import ResultService, Told, Try, wind_of
from shared.actor import Actor
from shared.errors import InputError
from shared.keys import EventKey
from shared.quantities import Speed, Wind
from storage.database import Database
from storage.json import JsonObject
from storage.member_rounds import MemberRounds


@dataclass(frozen=True)
class Played:
    """A member's round: where they are, and by hole their wind, their line, what became of it."""

    event: str
    round: str
    hole: int
    winds: Mapping[int, Wind] = field(default_factory=dict[int, Wind])
    lines: Mapping[int, str] = field(default_factory=dict[int, str])
    came: Mapping[int, bool] = field(default_factory=dict[int, bool])

    @property
    def body(self) -> JsonObject:
        """As it is kept."""
        return {
            "event": self.event,
            "round": self.round,
            "hole": self.hole,
            "winds": {str(n): [w.speed.mps, w.relative_deg] for n, w in self.winds.items()},
            "lines": {str(n): letter for n, letter in self.lines.items()},
            "came": {str(n): holed for n, holed in self.came.items()},
        }

    def at(
        self,
        hole: int,
        *,
        wind: Wind | None = None,
        line: str = "",
        came: bool | None = None,
        of: int = 0,
    ) -> "Played":
        """The round at a hole, with what was said of it (or of the hole ``of``)."""
        place = of or hole
        return replace(
            self,
            hole=hole,
            winds={**self.winds, place: wind} if wind is not None else self.winds,
            lines={**self.lines, place: line} if line else self.lines,
            came={**self.came, place: came} if came is not None else self.came,
        )

    def without(self, hole: int) -> "Played":
        """The round as if nothing had been logged of a hole."""
        return replace(self, came={n: holed for n, holed in self.came.items() if n != hole})


@dataclass(frozen=True)
class Page:
    """What a hole of the round shows; ``found`` None: it has no line, and ``problem`` says so.

    ``told`` is the result that was logged on the way here, or corrected, or ``taken_back``.
    """

    played: Played
    holes: tuple[int, ...]
    found: ForMe | None
    attempt: int = 0
    problem: str = ""
    told: Told | None = None
    taken_back: bool = False


Step = Callable[[Played], Played]


class RoundService:
    """Leads a member through the current round."""

    def __init__(
        self, *, db: Database, book: Book, for_me: ForMeService, results: ResultService
    ) -> None:
        self._rounds = MemberRounds(db)
        self._book = book
        self._for_me = for_me
        self.results = results

    async def open(self, who: Actor) -> Page:
        """The round where the member left it, or its first hole.

        Errors: InputError without an event, DivisionUnknownError.
        """
        return await self._changed(who, None, lambda played: played)

    async def go(self, who: Actor, event: str, hole: int) -> Page:
        """Another hole."""
        return await self._changed(who, event, lambda played: played.at(hole))

    async def blow(self, who: Actor, event: str, hole: int, variant: str, wind: Wind) -> Page:
        """The hole in another wind, which is remembered."""
        return await self._changed(
            who, event, lambda played: played.at(hole, wind=wind, line=variant)
        )

    async def play(self, who: Actor, event: str, hole: int, variant: str) -> Page:
        """Another line of the hole."""
        return await self._changed(who, event, lambda played: played.at(hole, line=variant))

    async def log(
        self, who: Actor, tried: Try, outcome: str, *, interaction_id: int, attempt: int
    ) -> Page:
        """Keep what became of a hole, and go on to the next one."""
        told = await self.results.log(
            who, tried, outcome, interaction_id=interaction_id, attempt=attempt
        )
        holes = await self._holes(who)
        after = next((number for number in holes if number > tried.hole), tried.hole)
        wind = tried.wind if isinstance(tried.wind, Wind) else None
        page = await self._changed(
            who,
            tried.event,
            lambda played: played.at(
                after,
                wind=wind,
                line=tried.variant,
                came=told.result.played.went_in > 0,
                of=tried.hole,
            ),
        )
        return replace(page, told=told)

    async def correct(
        self,
        who: Actor,
        event: str,
        hole: int,
        result_id: int,
        *,
        outcome: str,
        wind: str,
        interaction_id: int,
    ) -> Page:
        """Put something else in place of what was logged of a hole; the round stays where it is."""
        told = await self.results.correct(
            who, result_id, outcome=outcome, wind=wind, interaction_id=interaction_id
        )
        played = told.result.played
        blew = wind_of(played.wind_mmps, told.units)
        page = await self._changed(
            who, event, lambda at: at.at(at.hole, wind=blew, came=played.went_in > 0, of=hole)
        )
        return replace(page, told=told)

    async def take_back(self, who: Actor, event: str, hole: int, result_id: int) -> Page:
        """Take back what was logged of a hole, and return to it."""
        told = await self.results.remove(who, result_id)
        page = await self._changed(who, event, lambda at: at.without(hole).at(hole))
        return replace(page, told=told, taken_back=True)

    async def with_safer(self, community_id: int, page: Page) -> Page:
        """The page with the line that is safer, computed where it was not yet."""
        if page.found is None:
            return page
        found = await self._for_me.with_safer(community_id, page.found, hurry=True)
        return replace(page, found=found)

    async def _holes(self, who: Actor) -> tuple[int, ...]:
        event, _ = await self._book.current(who.community_id)
        return tuple(hole.number for hole in event.holes)

    async def _changed(self, who: Actor, event: str | None, change: Step) -> Page:
        current, round_ = await self._book.current(who.community_id)
        if event is not None and EventKey.of(event) != current.key:
            raise InputError("Another cup is played now.", "/round")
        await self._book.require_division(who.community_id, who.member_id)
        holes = tuple(hole.number for hole in current.holes)

        def fn(body: JsonObject | None) -> JsonObject:
            played = _read(body)
            if played is None or (played.event, played.round) != (current.name, round_):
                played = Played(current.name, round_, holes[0])
            changed = change(played)
            return (changed if changed.hole in holes else played).body

        played = _read(await self._rounds.change(who.community_id, who.member_id, fn))
        assert played is not None
        return await self._page(who, played, holes)

    async def _page(self, who: Actor, played: Played, holes: tuple[int, ...]) -> Page:
        hole, event = played.hole, played.event
        try:
            found = await self._line(who, played)
        except InputError as error:
            return Page(played, holes, None, problem=error.sentence)
        opening = await self.results.opening(who, event=event, hole=hole, variant=found.letter)
        return Page(played, holes, found, attempt=opening.attempt)

    async def _line(self, who: Actor, played: Played) -> ForMe:
        """The line the member chose, or the one that fits them best."""
        opening = await self._for_me.opening(
            community_id=who.community_id,
            member_id=who.member_id,
            event=played.event,
            hole=played.hole,
        )
        wind = played.winds.get(played.hole, opening.wind)
        chosen = played.lines.get(played.hole, "")
        letter = chosen if chosen in opening.variants else opening.variant
        found = await self._moved(who, played, letter, wind)
        if not chosen and found.better is not None:
            found = await self._moved(who, played, found.better.letter, wind)
        return found

    async def _moved(self, who: Actor, played: Played, letter: str, wind: str | Wind) -> ForMe:
        return await self._for_me.answer(
            community_id=who.community_id,
            member_id=who.member_id,
            event=played.event,
            hole=played.hole,
            variant=letter,
            wind=wind,
        )


def _read(body: JsonObject | None) -> Played | None:
    """A kept round; None where there is none that can be read."""
    match body:
        case {
            "event": str(event),
            "round": str(round_),
            "hole": int(hole),
            "winds": dict(winds),
            "lines": dict(lines),
            "came": dict(came),
        }:
            return Played(
                event,
                round_,
                hole,
                {int(n): _wind(pair) for n, pair in winds.items()},
                {int(n): str(letter) for n, letter in lines.items()},
                {int(n): bool(holed) for n, holed in came.items()},
            )
        case _:
            return None


def _wind(pair: object) -> Wind:
    match pair:
        case [int() | float() as mps, int() | float() as deg]:
            return Wind(speed=Speed(value=mps, unit="m/s"), from_deg=deg)
        case _:
            raise ValueError(f"no wind: {pair!r}")
