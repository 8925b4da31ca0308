"""Reading the kit's names where they stand in a text, and the errors about names."""

from typing import Final, get_args

from shared.errors import ShotTextError
from shared.kit import Club
from shared.shot_text.cursor import Cursor
from shared.shot_text.lexicon import CLUB_WORDS, LEXICON, NUMBER_WORDS, UNITS
from shared.shot_text.name_index import Category, Entry, NameMatch, closest_to, name_part, spans
from shared.shot_text.number_reader import fraction_at
from shared.shot_text.slips import MOST_OFFERED, is_number_like, offered, words_to_offer
from shared.shot_text.source import listed
from shared.shot_text.tokens import folded

CLUB_NUMBERS: Final = 12  # a number up to this before "iron" is a club's, not a distance
PART_OF_A_NAME: Final = ("-", ".", "'")
MOST_NAMED: Final = 4

Meanings = tuple[tuple[Category, str], ...]


def read_name(cursor: Cursor, at: int, match: NameMatch, *, exact: bool = False) -> int:
    """Reads the name found at ``at``; asks back where it could be several or another word."""
    if not match.is_certain:
        raise unknown(cursor, at, match.end)
    if exact:
        match = _with_trailing_symbols(cursor, at, match)
    entries = closest_to(cursor.typed(at, match.end), match.entries) if exact else match.entries
    meanings = NameMatch(entries, match.end).meanings
    if len(meanings) > 1 and exact:
        meanings = _narrowed(cursor, meanings)
    category, name = _only(cursor, at, match.end, meanings)
    cursor.push(category, at, match.end, name=name)
    return _grade_after(cursor, match.end) if category == "club" else match.end


def _with_trailing_symbols(cursor: Cursor, at: int, match: NameMatch) -> NameMatch:
    """The match with the symbols behind it that belong to the name ("B-" beside a "B")."""
    end = match.end
    while (token := cursor.token(end)) is not None and token.text in PART_OF_A_NAME:
        end += 1
    while end > match.end:
        raw = folded(cursor.typed(at, end))
        if any(folded(entry.label) == raw for entry in match.entries):
            return NameMatch(match.entries, end)
        end -= 1
    return match


def read_after_category(cursor: Cursor, at: int, category: Category) -> int:
    """Reads a name of just that category at ``at``, 0 where none stands there."""
    end = at
    while end < len(cursor.tokens) and cursor.tokens[end].kind not in ("comma", "open", "close"):
        end += 1
    if end == at:
        return 0
    raw = cursor.typed(at, end).strip()
    typed = tuple(
        entry for entry in cursor.index.entries if (entry.category, entry.label) == (category, raw)
    )
    match = NameMatch(typed, end) if typed else None
    match = match or cursor.index.exact_at(cursor.tokens, at, category=category)
    return read_name(cursor, at, match, exact=True) if match else 0


def read_bracket(cursor: Cursor, at: int) -> int:
    """Reads "(grade)" behind a club; other brackets only part."""
    end = at + 1
    while end < len(cursor.tokens) and cursor.tokens[end].kind != "close":
        end += 1
    key = "".join(map(name_part, cursor.tokens[at + 1 : end]))
    entries = _held_grades(cursor, cursor.index.by_key.get(key, ()))
    if not entries:
        return cursor.push("separator", at, at + 1)
    _push_grade(cursor, entries, at + 1, end)
    return min(end + 1, len(cursor.tokens))


def _narrowed(cursor: Cursor, meanings: Meanings) -> Meanings:
    """A name is the club's before all, and the grade's right behind a club that has it."""
    clubs = tuple(meaning for meaning in meanings if meaning[0] == "club")
    if clubs:
        return clubs
    club = _club_just_read(cursor)
    held = [] if club is None else [grade.name for grade in club.grades]
    grades = tuple(meaning for meaning in meanings if meaning[0] == "grade" and meaning[1] in held)
    return grades or meanings


def _club_just_read(cursor: Cursor) -> Club | None:
    if cursor.last_kind != "club":
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
    match = cursor.index.exact_at(cursor.tokens, at)
    longer = match is not None and match.end > end
    if not entries or longer or (end == at + 1 and _means_more(cursor, at)):
        return at
    return _push_grade(cursor, entries, at, end)


def _push_grade(cursor: Cursor, entries: tuple[Entry, ...], at: int, end: int) -> int:
    meanings = NameMatch(closest_to(cursor.typed(at, end).strip(), entries), end).meanings
    _, name = _only(cursor, at, end, meanings)
    return cursor.push("grade", at, end, name=name)


def _means_more(cursor: Cursor, at: int) -> bool:
    """Whether the one token at ``at`` is a word of the grammar or a number that goes on."""
    token, after = cursor.tokens[at], cursor.token(at + 1)
    if token.kind == "word" and token.text not in NUMBER_WORDS:
        return _is_grammar(token.text)
    if after is None:
        return False
    if after.kind == "comma":
        return fraction_at(cursor, at + 1) is not None
    if after.attached and after.kind in ("sign", "symbol", "word"):
        return after.text not in ".!?"
    return _is_grammar(after.text)


def _is_grammar(word: str) -> bool:
    return word in UNITS or LEXICON.get(word, ("filler", 0.0))[0] != "filler"


def is_missing_club(cursor: Cursor, at: int, word: int) -> bool:
    """Whether the number at ``at`` and the word at ``word`` name a club, one the kit lacks."""
    text = cursor.tokens[word].text
    if text not in CLUB_WORDS and text not in cursor.index.by_word:
        return False
    number = cursor.tokens[at].text
    number = NUMBER_WORDS.get(number, number)
    small = number.isdecimal() and len(number) < 3 and int(number) <= CLUB_NUMBERS
    return small or (cursor.tokens[word].attached and cursor.tokens[at + 1].attached)


def unknown(cursor: Cursor, at: int, end: int) -> ShotTextError:
    """Nothing is called that: names what is near."""
    if at and cursor.tokens[at].attached and is_number_like(folded(cursor.typed(at - 1, end))):
        at -= 1
    club = cursor.tokens[end - 1].text in CLUB_WORDS
    categories: tuple[Category, ...] = ("club",) if club else get_args(Category)
    typed = folded(cursor.typed(at, end))
    near = words_to_offer(typed)[:MOST_OFFERED] or cursor.index.hints(typed, categories=categories)
    held = _club_just_read(cursor)
    if held is not None:
        hint = f"; the {held.name} has the grades {listed([grade.name for grade in held.grades])}"
    elif near:
        hint = f"; the nearest {'is' if len(near) == 1 else 'are'} {listed(near)}"
    else:
        hint = ""
    quoted = cursor.quote(at, end)
    sentence = (
        f"The kit has no club {quoted}{hint}." if club else f"{quoted} was not understood{hint}."
    )
    similar = cursor.index.misspelt_at(cursor.tokens, at)
    names = [name for _, name in similar.meanings] if similar and similar.end == end else []
    if not names and len(near) == 1:
        names = list(near)
    return cursor.error(sentence, at, end, instead=offered(typed, names))


def _only(cursor: Cursor, at: int, end: int, meanings: Meanings) -> tuple[Category, str]:
    """The one target, or an error that asks which."""
    first, *others = meanings
    if others:
        raise _ambiguous(cursor, at, end, meanings)
    return first


def _ambiguous(cursor: Cursor, at: int, end: int, meanings: Meanings) -> ShotTextError:
    mixed = len({category for category, _ in meanings}) > 1
    names = [f"the {category} {name}" if mixed else name for category, name in meanings]
    if len(names) > MOST_NAMED:
        names = [*names[: MOST_NAMED - 1], "another"]
    more = f"ball {cursor.source.kit.balls[0].name}" if mixed else ""
    sentence = f"{cursor.quote(at, end)} could be {listed(names, last='or')}."
    instead = [f"{category} {name}" if mixed else name for category, name in meanings]
    return cursor.error(sentence, at, end, more=more, instead=instead[:MOST_OFFERED])
