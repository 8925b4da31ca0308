"""Slips of the thumb: what an unknown word may have been meant to be, and when that is certain.

A slip is certain where it is small for the length of the word, so that nothing else near it makes
sense: two neighbouring letters swapped in four letters or more, one edit in five, two in eight.
A word that is English in its own right is never a certain slip. An edit is one letter put in, left
out or changed, or two neighbours swapped (optimal string alignment).
"""

import re
from collections.abc import Sequence
from typing import Final

from rapidfuzz import process
from rapidfuzz.distance import OSA

from shared.shot_text.lexicon import COMPASS_WORDS, LEXICON, UNITS

MOST_OFFERED: Final = 3
_SHORTEST: Final = 3  # letters of a word that is worth correcting
_EDITS: Final = ((8, 2), (5, 1))  # letters from which so many edits are certain
_SWAP_LETTERS: Final = 4
_SWAP_GAIN: Final = 0.5  # edits by which swapped letters are the nearer slip
_LETTERS_LIKE_DIGITS: Final = str.maketrans("olisz", "01152")
_NUMBER_LIKE: Final = re.compile(r"(?=.*\d)[\dolisz]{2,4}")
# Words so near to others, or so common, that nobody's slip is sought among them.
_ADDED: Final = (
    *("front", "facing", "still", "none", "nil", "nothing", "drop", "drops", "dropping", "rise"),
    *("rises", "rising", "out", "have", "got", "has", "swing", "swinging", "going", "moving"),
    *("pushing", "click", "clicks", "step", "steps", "notch", "notches", "there", "roughly"),
    *("lhs", "rhs", "assist", "assists", "assisted"),
)
# "onto" is a slip itself, of "into", where no ground follows.
_ABBREVIATIONS: Final = frozenset({"frm", "yds", "mps", "ltr", "rtl", "dir", "onto", *_ADDED})
# Words of their own that are one edit away from one of the grammar's.
ENGLISH: Final = frozenset(
    (
        *("night", "might", "sight", "fight", "tight", "bright", "slight", "flight", "wright"),
        *("slide", "aside", "hunting", "slower", "weight", "shots", "cards", "mouth", "worth"),
        *("loft", "lift", "turn", "term", "hold", "face", "fact", "rest", "best", "test"),
        *("front", "heard", "filling", "letter", "later"),
    )
)
_WORDS: Final = tuple(
    word
    for word in dict.fromkeys((*LEXICON, *UNITS, *COMPASS_WORDS))
    if word.isalpha()
    and len(word) >= _SHORTEST
    and word not in _ABBREVIATIONS
    and LEXICON.get(word, ("", 0.0))[0] != "not_a_number"
)
_KNOWN: Final = frozenset(word for word in (*LEXICON, *UNITS) if word.isalpha() and len(word) > 1)


def is_certain(typed: str, word: str) -> bool:
    """Whether ``typed`` can only be a slip of ``word``."""
    if typed in ENGLISH:
        return False
    if _is_swap(typed, word):
        return True
    edits, letters = OSA.distance(typed, word), max(len(typed), len(word))
    if sorted(typed) == sorted(word) and edits == 1:
        return False
    return any(letters >= least and edits <= most for least, most in _EDITS)


def _is_swap(typed: str, word: str) -> bool:
    """Whether two neighbours of a word long enough were swapped, and nothing else."""
    is_anagram = len(word) >= _SWAP_LETTERS and sorted(typed) == sorted(word)
    return is_anagram and OSA.distance(typed, word) == 1


def _is_filler(word: str) -> bool:
    """Whether a word of the grammar says nothing."""
    return LEXICON.get(word, ("", 0.0))[0] == "filler"


def is_number_like(typed: str) -> bool:
    """Whether ``typed`` is a number in which a letter stands for a digit: "16o"."""
    return _NUMBER_LIKE.fullmatch(typed) is not None


def words_near(typed: str) -> list[str]:
    """The words of the grammar that ``typed`` may be a slip of, the nearest first.

    Swapped letters are the nearer slip, yet beside them another word one edit away that says
    something stays possible: "knto" is "knot" or "into".
    """
    if len(typed) < _SHORTEST or not typed.isalpha():
        return []
    near = [
        (edits - _SWAP_GAIN * _is_swap(typed, word), word)
        for word, edits, _ in process.extract(
            typed, _WORDS, scorer=OSA.distance, score_cutoff=2, limit=None
        )
        if edits == 1 or (edits == 2 and is_certain(typed, word))
    ]
    near.sort(key=lambda pair: pair[0])
    least = min((edits for edits, _ in near), default=0.0)
    return [word for edits, word in near if edits == least or (edits <= 1 and not _is_filler(word))]


def words_to_offer(typed: str) -> list[str]:
    """Those of ``words_near`` that are worth naming: of those that say nothing only a swap."""
    return [
        word for word in words_near(typed) if not _is_filler(word) or sorted(word) == sorted(typed)
    ]


def certain_word(typed: str) -> str:
    """The one word of the grammar that ``typed`` certainly is, "" where there is none or several.

    Words that mean the same count as one. A word that says nothing is never certain: what was
    typed may be a word that says something.
    """
    near = words_near(typed)
    meanings = {LEXICON.get(word) or UNITS.get(word) or COMPASS_WORDS[word] for word in near}
    says_something = not any(map(_is_filler, near))
    is_one = len(meanings) == 1 and says_something
    return near[0] if is_one and is_certain(typed, near[0]) else ""


def offered(typed: str, names: Sequence[str]) -> list[str]:
    """What to offer instead of ``typed``; ``names`` are the kit's names near it."""
    found = [*words_to_offer(typed), *names]
    if is_number_like(typed):
        found.append(typed.translate(_LETTERS_LIKE_DIGITS))
    splits = ((typed[:at], typed[at:]) for at in range(2, len(typed) - 1))
    found += [f"{one} {other}" for one, other in splits if one in _KNOWN and other in _KNOWN]
    return list(dict.fromkeys(found))[:MOST_OFFERED]
