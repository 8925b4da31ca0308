"""Reading the kit's names where they stand in a text, and the errors about names."""

from typing import Final, get_args

from shared.errors import ShotTextError
from shared.kit import Club
from shared.shot_text.cursor import Cursor
from shared.shot_text.names import Category, Entry, Hit, closest_to, part, spans
from shared.shot_text.numbers import fraction_at
from shared.shot_text.source import listed
from shared.shot_text.tokens import folded
from shared.shot_text.words import CLUB_WORDS, FILLER, LEXICON, NUMBER_WORDS, UNITS

KIND_OF: Final[dict[Category, str]] = {"club": "C", "grade": "G", "ball": "Q"}
CLUB_NUMBERS: Final = 12  # a number up to this before "iron" is a club's, not a distance
TRAILING: Final = ("-", ".", "'")
MOST_NAMED: Final = 4

Targets = tuple[tuple[Category, str], ...]


def read_name(cursor: Cursor, at: int, hit: Hit, *, exact: bool = False) -> int:
    """Reads the name found at ``at``; asks back where it could be several."""
    if exact:
        hit = _to_last_mark(cursor, at, hit)
    entries = closest_to(cursor.raw(at, hit.end), hit.entries) if exact else hit.entries
    targets = Hit(entries, hit.end).targets
    if len(targets) > 1 and exact:
        targets = _narrowed(cursor, targets)
    category, name = _only(cursor, at, hit.end, targets)
    cursor.push(KIND_OF[category], at, hit.end, name=name)
    return _grade_after(cursor, hit.end) if category == "club" else hit.end


def _to_last_mark(cursor: Cursor, at: int, hit: Hit) -> Hit:
    """The hit with the marks behind it that belong to the name ("B-" beside a "B")."""
    end = hit.end
    while (token := cursor.token(end)) is not None and token.text in TRAILING:
        end += 1
    while end > hit.end:
        raw = folded(cursor.raw(at, end))
        if any(folded(entry.label) == raw for entry in hit.entries):
            return Hit(hit.entries, end)
        end -= 1
    return hit


def read_after_category(cursor: Cursor, at: int, category: Category) -> int:
    """Reads a name of just that category at ``at``, 0 where none stands there."""
    end = at
    while end < len(cursor.tokens) and cursor.tokens[end].kind not in ("comma", "open", "close"):
        end += 1
    if end == at:
        return 0
    raw = cursor.raw(at, end).strip()
    typed = tuple(
        entry for entry in cursor.index.entries if (entry.category, entry.label) == (category, raw)
    )
    hit = Hit(typed, end) if typed else None
    hit = hit or cursor.index.exact_at(cursor.tokens, at, category=category)
    return read_name(cursor, at, hit, exact=True) if hit else 0


def read_bracket(cursor: Cursor, at: int) -> int:
    """Reads "(grade)" behind a club; other brackets only part."""
    end = at + 1
    while end < len(cursor.tokens) and cursor.tokens[end].kind != "close":
        end += 1
    key = "".join(map(part, cursor.tokens[at + 1 : end]))
    entries = _held_grades(cursor, cursor.index.by_key.get(key, ()))
    if not entries:
        return cursor.push(",", at, at + 1)
    _push_grade(cursor, entries, at + 1, end)
    return min(end + 1, len(cursor.tokens))


def _narrowed(cursor: Cursor, targets: Targets) -> Targets:
    """A name is the club's before all, and the grade's right behind a club that has it."""
    clubs = tuple(target for target in targets if target[0] == "club")
    if clubs:
        return clubs
    club = _club_just_read(cursor)
    held = [] if club is None else [grade.name for grade in club.grades]
    grades = tuple(target for target in targets if target[0] == "grade" and target[1] in held)
    return grades or targets


def _club_just_read(cursor: Cursor) -> Club | None:
    if cursor.last_kind != "C":
        return None
    return cursor.source.kit.club(cursor.items[-1].name)


def _held_grades(cursor: Cursor, entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    club = _club_just_read(cursor)
    held = set[str]() if club is None else {grade.name for grade in club.grades}
    return tuple(entry for entry in entries if entry.category == "grade" and entry.name in held)


def _grade_after(cursor: Cursor, at: int) -> int:
    """Reads a grade right behind its club, also one that is a bare number ("5-iron 3")."""
    end, entries = at, tuple[Entry, ...]()
    for end_here, key in spans(cursor.tokens, at):
        here = _held_grades(cursor, cursor.index.by_key.get(key, ()))
        if here:
            end, entries = end_here, here
    hit = cursor.index.exact_at(cursor.tokens, at)
    longer = hit is not None and hit.end > end
    if not entries or longer or (end == at + 1 and _means_more(cursor, at)):
        return at
    return _push_grade(cursor, entries, at, end)


def _push_grade(cursor: Cursor, entries: tuple[Entry, ...], at: int, end: int) -> int:
    targets = Hit(closest_to(cursor.raw(at, end).strip(), entries), end).targets
    _, name = _only(cursor, at, end, targets)
    return cursor.push("G", at, end, name=name)


def _means_more(cursor: Cursor, at: int) -> bool:
    """Whether the one token at ``at`` is a word of the grammar or a number that goes on."""
    token, after = cursor.tokens[at], cursor.token(at + 1)
    if token.kind == "word" and token.text not in NUMBER_WORDS:
        return _is_grammar(token.text)
    if after is None:
        return False
    if after.kind == "comma":
        return fraction_at(cursor, at + 1) is not None
    if after.glued and after.kind in ("sign", "mark", "word"):
        return after.text not in ".!?"
    return _is_grammar(after.text)


def _is_grammar(word: str) -> bool:
    return word in UNITS or LEXICON.get(word, (FILLER, 0.0))[0] != FILLER


def is_missing_club(cursor: Cursor, at: int, word: int) -> bool:
    """Whether the number at ``at`` and the word at ``word`` name a club, one the kit lacks."""
    text = cursor.tokens[word].text
    if text not in CLUB_WORDS and text not in cursor.index.by_word:
        return False
    number = cursor.tokens[at].text
    number = NUMBER_WORDS.get(number, number)
    small = number.isdecimal() and len(number) < 3 and int(number) <= CLUB_NUMBERS
    return small or (cursor.tokens[word].glued and cursor.tokens[at + 1].glued)


def unknown(cursor: Cursor, at: int, end: int) -> ShotTextError:
    """Nothing is called that: names what is near."""
    club = cursor.tokens[end - 1].text in CLUB_WORDS
    categories: tuple[Category, ...] = ("club",) if club else get_args(Category)
    near = cursor.index.hints(cursor.raw(at, end), categories=categories)
    held = _club_just_read(cursor)
    if near:
        hint = f"; the nearest {'is' if len(near) == 1 else 'are'} {listed(near)}"
    elif held is not None:
        hint = f"; the {held.name} has the grades {listed([grade.name for grade in held.grades])}"
    else:
        hint = ""
    piece = cursor.piece(at, end)
    sentence = (
        f"The kit has no club {piece}{hint}." if club else f"{piece} was not understood{hint}."
    )
    return cursor.error(sentence, at, end)


def _only(cursor: Cursor, at: int, end: int, targets: Targets) -> tuple[Category, str]:
    """The one target, or an error that asks which."""
    first, *others = targets
    if others:
        raise _ambiguous(cursor, at, end, targets)
    return first


def _ambiguous(cursor: Cursor, at: int, end: int, targets: Targets) -> ShotTextError:
    mixed = len({category for category, _ in targets}) > 1
    names = [f"the {category} {name}" if mixed else name for category, name in targets]
    if len(names) > MOST_NAMED:
        names = [*names[: MOST_NAMED - 1], "another"]
    more = f"ball {cursor.source.kit.balls[0].name}" if mixed else ""
    sentence = f"{cursor.piece(at, end)} could be {listed(names, last='or')}."
    return cursor.error(sentence, at, end, more=more)
