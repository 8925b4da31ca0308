"""The kit's names as they may be typed: spacing variants, short forms and misspellings."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal, cast

from rapidfuzz.distance import OSA

from shared.kit import Kit
from shared.shot_text.abbreviations import abbreviations, reversed_names
from shared.shot_text.lexicon import NUMBER_WORDS, RESERVED
from shared.shot_text.slips import is_certain
from shared.shot_text.tokens import Token, folded, tokenise

Category = Literal["club", "grade", "ball"]

# Similarity is 1 - edits / longer length, an edit being one letter put in, left out, changed, or
# two swapped. At .75 a word of four letters may hold one slip.
MIN_SIMILARITY: Final = 0.75
SIMILARITY_TIE: Final = 0.1  # two names this close to each other in likeness are asked back
MIN_HINT_SIMILARITY: Final = 0.45  # likeness from which a name is worth naming in an error
LONGEST_NAME: Final = 8  # tokens


@dataclass(frozen=True, slots=True)
class Entry:
    """One way to type one name: ``label`` is the name itself, an alias or a usual short form.

    ``attached`` says that it counts only where it is typed without blanks ("4h").
    """

    category: Category
    name: str
    label: str
    parts: tuple[str, ...]
    key: str
    is_abbreviation: bool = False
    attached: bool = False

    @property
    def meaning(self) -> tuple[Category, str]:
        """What the entry stands for."""
        return self.category, self.name


@dataclass(frozen=True, slots=True)
class NameMatch:
    """Entries that fit the tokens up to (not including) ``end``, all equally well.

    ``is_misspelt`` says that they fit but nearly, ``is_certain`` that nothing else was meant.
    """

    entries: tuple[Entry, ...]
    end: int
    is_certain: bool = True
    is_misspelt: bool = False

    @property
    def meanings(self) -> tuple[tuple[Category, str], ...]:
        """The different things the entries stand for, in kit order."""
        return tuple(dict.fromkeys(entry.meaning for entry in self.entries))


def name_part(token: Token) -> str:
    """What a token contributes to a name's key; nothing for blanks' stand-ins like ``-``."""
    if token.kind == "word":
        return NUMBER_WORDS.get(token.text, token.text)
    if token.kind == "number" or token.text == "+":
        return token.text
    return ""


def needs_no_category(parts: Iterable[str]) -> bool:
    """Whether a name is told from the grammar's words and numbers without a word before it."""
    return any(piece.isalpha() and piece not in RESERVED for piece in parts)


def key_of(name: str) -> tuple[tuple[str, ...], str]:
    """The parts of a name and its key: the parts run together."""
    parts = tuple(piece for token in tokenise(name) if (piece := name_part(token)))
    return parts, "".join(parts)


class NameIndex:
    """Everything a kit's names can be looked up by."""

    def __init__(self, kit: Kit) -> None:
        self.entries: Final = tuple(_entries(kit))
        self.by_key: Final[dict[str, tuple[Entry, ...]]] = _grouped(
            (entry.key, entry) for entry in self.entries
        )
        self.by_word: Final[dict[str, tuple[Entry, ...]]] = _grouped(
            (piece, entry)
            for entry in self.entries
            if len(entry.parts) > 1 and not entry.is_abbreviation
            for piece in entry.parts
            if piece.isalpha() and len(piece) > 2
        )
        self._forms: Final = tuple(
            (form, _digits(form), entry)
            for entry in self.entries
            if not entry.is_abbreviation
            for form in self._forms_of(entry)
        )
        self._longest: Final = max((len(form) for form, _, _ in self._forms), default=0)

    def exact_at(
        self, tokens: Sequence[Token], start: int, *, category: Category | None = None
    ) -> NameMatch | None:
        """The longest name that stands at ``start``, of one category if that is given.

        Without a category only names that may stand bare are found.
        """
        best: NameMatch | None = None
        for end, key in spans(tokens, start):
            found = tuple(
                entry
                for entry in self.by_key.get(key, ())
                if entry.category == (category or entry.category)
                and (category is not None or needs_no_category(entry.parts))
                and not (entry.attached and not all(_attached(tokens[start + 1 : end])))
            )
            if found:
                best = NameMatch(found, end)
        return best

    def abbreviated_at(self, tokens: Sequence[Token], start: int) -> NameMatch | None:
        """A short form at ``start``: "p wedge", "5 w", "pitching", "driv"."""
        best: NameMatch | None = None
        typed: list[str] = []
        for end, piece in _pieces(tokens, start):
            typed.append(piece)
            if needs_no_category(typed) and not RESERVED.intersection(typed):
                found = self._shortened(typed)
                if found:
                    best = NameMatch(found, end)
        return best

    def _shortened(self, typed: list[str]) -> tuple[Entry, ...]:
        if len(typed) > 1:
            return tuple(
                entry
                for entry in self.entries
                if not entry.is_abbreviation and _abbreviates(typed, entry.parts)
            )
        word = typed[0]
        whole = self.by_word.get(word, ())
        if whole or len(word) < 3:
            return whole
        return tuple(
            entry
            for entry in self.entries
            if not entry.is_abbreviation and entry.parts[0].startswith(word)
        )

    def misspelt_at(self, tokens: Sequence[Token], start: int) -> NameMatch | None:
        """Names that what stands at ``start`` may be a misspelling of; several if all are near."""
        best: tuple[float, NameMatch] | None = None
        typed = ""
        for end, piece in _pieces(tokens, start):
            if piece in RESERVED:
                break
            typed += piece
            if len(typed) > 2 * self._longest:
                break
            if typed.isdecimal():
                continue
            ranked = self._ranked(typed, digits_matter=True)
            similarity, form = ranked[0][:2] if ranked else (0.0, "")
            if similarity >= MIN_SIMILARITY and (best is None or similarity > best[0]):
                entries = tuple(each[2] for each in ranked if each[0] > similarity - SIMILARITY_TIE)
                best = similarity, NameMatch(entries, end, is_certain(typed, form), True)
        return best[1] if best else None

    def hints(self, typed: str, *, categories: Sequence[Category], most: int = 3) -> list[str]:
        """The names nearest to ``typed``, best first, for an error to name."""
        _, key = key_of(typed)
        ranked = [
            (score, entry)
            for score, _, entry in self._ranked(key, digits_matter=False)
            if score >= MIN_HINT_SIMILARITY and entry.category in categories
        ]
        number = _number_in(key)
        ranked.sort(key=lambda pair: (-pair[0], abs(_number_in(pair[1].key) - number)))
        return list(dict.fromkeys(entry.name for _, entry in ranked))[:most]

    def _ranked(self, typed: str, *, digits_matter: bool) -> list[tuple[float, str, Entry]]:
        """Similarity, the form it is of and its entry, the most similar first."""
        digits = _digits(typed)
        ranked = [
            (OSA.normalized_similarity(typed, form), form, entry)
            for form, form_digits, entry in self._forms
            if not digits_matter or form_digits == digits
        ]
        ranked.sort(key=lambda pair: -pair[0])
        return ranked

    def _forms_of(self, entry: Entry) -> Iterable[str]:
        """The whole name, and each word of it that no other name has."""
        yield entry.key
        for piece in entry.parts:
            if len({other.meaning for other in self.by_word.get(piece, ())}) == 1:
                yield piece


def index_of(kit: Kit) -> NameIndex:
    """The index of ``kit``; kits are immutable, so those of the last few are kept."""
    return _kept_index(cast(Hashable, kit))


@lru_cache(maxsize=32)
def _kept_index(kit: Hashable) -> NameIndex:
    assert isinstance(kit, Kit)
    return NameIndex(kit)


def closest_to(raw: str, entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Those of ``entries`` that were typed most exactly: letter for letter, then without case."""
    exact = tuple(entry for entry in entries if entry.label == raw)
    cased = tuple(entry for entry in entries if folded(entry.label) == folded(raw))
    return exact or cased or tuple(entries)


def _entries(kit: Kit) -> Iterable[Entry]:
    named: list[tuple[Category, str, str]] = []
    for club in kit.clubs:
        named.extend(("club", club.name, label) for label in (club.name, *club.aliases))
    named.extend(("ball", ball.name, ball.name) for ball in kit.balls)
    grades = dict.fromkeys(grade.name for club in kit.clubs for grade in club.grades)
    named.extend(("grade", name, name) for name in grades)
    taken: set[str] = set()
    for category, name, label in named:
        parts, key = key_of(label)
        if key:
            taken.add(key)
            yield Entry(category, name, label, parts, key)
    for name, label in reversed_names(kit):
        parts, key = key_of(label)
        if key not in taken:
            yield Entry("club", name, label, parts, key)
    for name, label, attached in abbreviations(kit):
        parts, key = key_of(label)
        if key not in taken:
            taken.add(key)
            yield Entry("club", name, label, parts, key, is_abbreviation=True, attached=attached)


def _grouped(pairs: Iterable[tuple[str, Entry]]) -> dict[str, tuple[Entry, ...]]:
    groups: dict[str, tuple[Entry, ...]] = {}
    for key, entry in pairs:
        groups[key] = (*groups.get(key, ()), entry)
    return groups


def _pieces(tokens: Sequence[Token], start: int) -> Iterable[tuple[int, str]]:
    """The parts from ``start`` on, each with the place after it, up to where no name can go on."""
    for place in range(start, min(len(tokens), start + LONGEST_NAME)):
        token = tokens[place]
        piece = name_part(token)
        if piece:
            yield place + 1, piece
        elif place == start or token.text not in "-.'" or _parts(tokens, place):
            return


def _parts(tokens: Sequence[Token], place: int) -> bool:
    """Whether a dash with blanks around it parts a number from a club: "draw 1 - w3"."""
    dash, behind = tokens[place], tokens[place + 1 : place + 3]
    return (
        dash.text == "-"
        and not dash.attached
        and tokens[place - 1].kind == "number"
        and len(behind) == 2
        and not behind[0].attached
        and behind[1].kind == "number"
        and len(behind[1].text) == 1  # a club's, not a distance
    )


def _attached(tokens: Iterable[Token]) -> Iterable[bool]:
    return (token.attached for token in tokens)


def spans(tokens: Sequence[Token], start: int) -> Iterable[tuple[int, str]]:
    key = ""
    for end, piece in _pieces(tokens, start):
        key += piece
        yield end, key


def _abbreviates(typed: Sequence[str], parts: Sequence[str]) -> bool:
    if len(typed) != len(parts):
        return False
    pairs = list(zip(typed, parts, strict=True))
    if any(
        short != full if short[0].isdecimal() or full[0].isdecimal() else not full.startswith(short)
        for short, full in pairs
    ):
        return False
    return any(short == full for short, full in pairs)


def _digits(text: str) -> str:
    return "".join(character for character in text if character.isdecimal())


def _number_in(text: str) -> int:
    digits = _digits(text)[:4]
    return int(digits) if digits else 0
