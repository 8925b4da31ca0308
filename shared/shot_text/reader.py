"""Reading a shot text, and asking for what a wind question lacks."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from shared.bag import Bag
from shared.errors import ShotTextError
from shared.kit import Kit
from shared.shot import Shot
from shared.shot_text.grammar import CLOSE_COST, Fragment, cost_of, fragments_of, readings_of
from shared.shot_text.item_reader import items_of, other_items_of
from shared.shot_text.name_index import index_of
from shared.shot_text.rephrased import rephrased, says_gusts
from shared.shot_text.reworded import reworded
from shared.shot_text.shot_builder import ShotBuilder
from shared.shot_text.slips import MOST_OFFERED
from shared.shot_text.source import MAX_TEXT, Source, clipped, listed
from shared.shot_text.write import completed, example_shot, format_shot
from shared.units import UnitSystem

SAY_NO_SHOT = ("nothing", "left over", "bearing")
NOT_UNDERSTOOD = "was not understood"
MOST_CORRECTIONS = 3  # slips in one text that are corrected together for a suggestion
_SAID = {"wind": "a wind", "club": "a club", "distance": "a distance"}


@dataclass(frozen=True, slots=True)
class Reader:
    """What a text is read by: the kit, the units of bare numbers, the hole's bearing, the bag."""

    kit: Kit
    units: UnitSystem = "yards"
    bearing_deg: float | None = None
    bag: Bag = field(default_factory=Bag)

    def parse(self, text: str) -> Shot:
        """The shot that ``text`` says, see ``parse`` of this package."""
        try:
            return self._shot(text)
        except ShotTextError as error:
            other = self._readable(rephrased(text, self.kit), MOST_CORRECTIONS)
            slips = () if other else self._readable(error.suggestions, MOST_CORRECTIONS)
            short = not other and len(text) <= MAX_TEXT
            more = self.whole(list(reworded(text))) if short else ()
            found = (*(other or slips), *more)
            cut = self.whole(_without(text, error)) if short else ()
            error.suggestions = tuple(dict.fromkeys((*found, *cut)))[:MOST_OFFERED]
            if other and says_gusts(text):
                error.sentence = "Gusts are asked for with one speed: their middle, or an end."
            whole = [each for each in found if not missing(self._shot(each))]
            error.example = next(iter(whole), error.example)
            raise

    def fragments(self, text: str) -> list[Fragment]:
        """The parts of ``text``, not yet checked against each other."""
        source = self._source(text)
        return fragments_of(items_of(source), units=self.units)

    def _shot(self, text: str) -> Shot:
        source = self._source(text)
        readings = readings_of(items_of(source), units=self.units)
        self._require_shot(source, readings[0])
        shot = _shot_of(source, readings[0])
        for other in [*readings[1:], *self._with_number_last(source, readings[0])]:
            try:
                another = _shot_of(source, other)
            except ShotTextError:
                continue
            if another != shot:
                raise self._two_readings(source, shot, another)
        return shot

    def _with_number_last(
        self, source: Source, reading: Sequence[Fragment]
    ) -> list[list[Fragment]]:
        """The reading of "into 4 iron 7" with the 7-iron, where it is about as likely."""
        try:
            items = other_items_of(source)
        except ShotTextError:
            return []
        if items is None:
            return []
        other = fragments_of(items, units=self.units)
        most = cost_of(reading, units=self.units) + CLOSE_COST
        return [other] if cost_of(other, units=self.units) <= most else []

    def _require_shot(self, source: Source, fragments: Sequence[Fragment]) -> None:
        """Refuses a text that says nothing of a shot, such as a call for help."""
        says = [fragment for fragment in fragments if fragment.rule not in SAY_NO_SHOT]
        words = {source.text[each.start : each.end].casefold() for each in says}
        if not words - {"help"}:
            sentence = "There is nothing in the text that says a shot."
            raise source.error(sentence, start=0, end=len(source.text))

    def _two_readings(self, source: Source, shot: Shot, another: Shot) -> ShotTextError:
        sentence = "The numbers of the text can be read in two ways; units or commas say which."
        error = source.error(sentence, start=0, end=len(source.text))
        error.suggestions = (format_shot(shot), format_shot(another))
        return error

    def _readable(self, texts: Sequence[str], depth: int) -> tuple[str, ...]:
        """Those of ``texts`` that are shots, with further slips in them corrected too."""
        found: list[str] = []
        for text in texts[:MOST_OFFERED]:
            try:
                self._shot(text)
                found.append(text)
            except ShotTextError as error:
                if depth > 1:
                    found += self._readable(error.suggestions, depth - 1)
        return tuple(dict.fromkeys(found))[:MOST_OFFERED]

    def whole(self, texts: Sequence[str]) -> tuple[str, ...]:
        """Those of ``texts`` that ask a whole question as they stand."""
        found: list[str] = []
        for text in texts:
            try:
                whole = not missing(self._shot(text))
            except ShotTextError:
                continue
            found += [text] if whole else []
        return tuple(found)

    def _source(self, text: str) -> Source:
        source = Source(text, self.kit, index_of(self.kit), self.units, self.bearing_deg, self.bag)
        if len(text) > MAX_TEXT:
            sentence = (
                f"The text has {len(text):,} characters, where a shot takes at most {MAX_TEXT}."
            )
            raise source.error(sentence, start=MAX_TEXT, end=len(text))
        return source


def _shot_of(source: Source, fragments: Sequence[Fragment]) -> Shot:
    builder = ShotBuilder(source)
    builder.add(fragments)
    return builder.shot()


def _without(text: str, error: ShotTextError) -> tuple[str, ...]:
    """The text without the word that was not understood: a question may be whole without it."""
    word = text[error.start : error.end]
    if NOT_UNDERSTOOD not in error.sentence or (any(map(str.isalnum, word)) and not word.isalpha()):
        return ()
    return (" ".join((text[: error.start] + text[error.end :]).split()),)


def parse(
    text: str,
    *,
    kit: Kit,
    units: UnitSystem = "yards",
    bearing_deg: float | None = None,
    bag: Bag | None = None,
) -> Shot:
    """The shot that ``text`` says, in its own units; bare numbers are in ``units``.

    ``bearing_deg`` is the hole's, degrees clockwise from north, where it is known and the text
    does not say it ("hole 40"). With a bearing degrees are those of the compass; without one they
    are clockwise from the line of play, and a point of the compass is refused. ``bag`` tells the
    grade whose full carry "80%" is a share of. Errors: ShotTextError with the place of what was not
    understood; where that is near something that can be read, ``suggestions`` are whole texts, and
    the example is the first that asks a whole question.
    """
    return Reader(kit, units, bearing_deg, bag or Bag()).parse(text)


def missing(shot: Shot) -> tuple[str, ...]:
    """Which of "wind", "club" and "distance" a wind question still lacks."""
    return tuple(what for what in _SAID if getattr(shot, what) is None)


def require_question(shot: Shot, given: str, *, kit: Kit, units: UnitSystem = "yards") -> None:
    """Raises a ShotTextError that names what ``shot`` lacks to be a wind question.

    Its example is what was given, with the rest put in from ``kit``.
    """
    lacking = missing(shot)
    if not lacking:
        return
    whole = completed(shot, kit=kit, units=units) if len(lacking) < 3 else example_shot(kit, units)
    raise ShotTextError(
        sentence=f"A wind question also needs {listed([_SAID[what] for what in lacking])}.",
        example=format_shot(whole),
        given=clipped(given),
        start=0,
        end=len(clipped(given)),
        suggestions=_with_wind(shot, given, Reader(kit, units)) if lacking == ("wind",) else (),
    )


def _with_wind(shot: Shot, given: str, reader: Reader) -> tuple[str, ...]:
    """A question without a wind as it may be meant: "8 down" is one for some, else it is calm."""
    if shot.height is None or shot.height.value >= 0:
        return ()
    return reader.whole([*reworded(given), f"calm, {given}"])[:MOST_OFFERED]
