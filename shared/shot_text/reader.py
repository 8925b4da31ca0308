"""Reading a shot text, and asking for what a wind question lacks."""

from dataclasses import dataclass

from shared.errors import ShotTextError
from shared.kit import Kit
from shared.shot import Shot
from shared.shot_text.draft import Draft
from shared.shot_text.items import items_of
from shared.shot_text.names import index_of
from shared.shot_text.read import Fragment, fragments_of
from shared.shot_text.source import MAX_TEXT, Source, clipped, listed
from shared.shot_text.write import completed, example_shot, format_shot
from shared.units import UnitSystem

SAY_NO_SHOT = ("nothing", "bearing")
_SAID = {"wind": "a wind", "club": "a club", "distance": "a distance"}


@dataclass(frozen=True, slots=True)
class Reader:
    """What a text is read by: the kit, the units of bare numbers, the bearing of the hole."""

    kit: Kit
    units: UnitSystem = "yards"
    bearing_deg: float | None = None

    def parse(self, text: str) -> Shot:
        """The shot that ``text`` says, see ``parse`` of this package."""
        source = self._source(text)
        fragments = self._fragments(source)
        if all(fragment.rule in SAY_NO_SHOT for fragment in fragments):
            sentence = "There is nothing in the text that says a shot."
            raise source.error(sentence, start=0, end=len(text))
        draft = Draft(source)
        draft.add(fragments)
        return draft.shot()

    def fragments(self, text: str) -> list[Fragment]:
        """The parts of ``text``, not yet checked against each other."""
        return self._fragments(self._source(text))

    def _source(self, text: str) -> Source:
        return Source(text, self.kit, index_of(self.kit), self.units, self.bearing_deg)

    def _fragments(self, source: Source) -> list[Fragment]:
        text = source.text
        if len(text) > MAX_TEXT:
            sentence = (
                f"The text has {len(text):,} characters, where a shot takes at most {MAX_TEXT}."
            )
            raise source.error(sentence, start=MAX_TEXT, end=len(text))
        return fragments_of(items_of(source), units=self.units)


def parse(
    text: str, *, kit: Kit, units: UnitSystem = "yards", bearing_deg: float | None = None
) -> Shot:
    """The shot that ``text`` says, in its own units; bare numbers are in ``units``.

    A compass wind needs the hole's bearing, from the text ("hole 40") or ``bearing_deg`` (degrees
    clockwise from north). Raises ShotTextError with the place of what was not understood.
    """
    return Reader(kit, units, bearing_deg).parse(text)


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
    )
