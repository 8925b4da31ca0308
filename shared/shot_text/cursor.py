"""The tokens of one text, the items read from them so far, and places to point errors at."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shared.errors import ShotTextError
from shared.shot_text.kinds import Kind
from shared.shot_text.lexicon import LONGEST_PHRASE, UNITS
from shared.shot_text.source import Source
from shared.shot_text.tokens import Token, TokenKind, tokenise


@dataclass(frozen=True, slots=True)
class Item:
    """One thing said: a number with its unit, a name of the kit or a word of the grammar.

    ``start`` and ``end`` are places in the text.
    """

    kind: Kind
    start: int
    end: int
    number: float = 0.0
    unit: str = ""
    name: str = ""


class Cursor:
    """What the readers of numbers, names and words share. Places here count tokens."""

    def __init__(self, source: Source, *, number_last: bool = False) -> None:
        self.source = source
        self.index = source.index
        self.tokens = tokenise(source.text)
        self.items: list[Item] = []
        self.number_last = number_last  # a club's number is sought behind its word first
        self.number_was_last = False

    def push(
        self, kind: Kind, at: int, end: int, *, number: float = 0.0, unit: str = "", name: str = ""
    ) -> int:
        """Adds an item made of the tokens from ``at`` to before ``end``; gives ``end`` back."""
        start, last = self.tokens[at].start, self.tokens[end - 1].end
        self.items.append(Item(kind, start, last, number, unit, name))
        return end

    def restart_with(self, at: int, word: str) -> int:
        """Puts ``word`` in the place of a slip at ``at`` and goes back to the start of the text.

        Words before it may be the beginning of a phrase that only the corrected word makes whole.
        """
        self.tokens[at] = replace(self.tokens[at], text=word)
        self.items.clear()
        return 0

    @property
    def last_kind(self) -> Kind:
        """The kind of the item read last, "separator" before the first."""
        return self.items[-1].kind if self.items else "separator"

    def typed(self, at: int, end: int) -> str:
        """What was typed from token ``at`` to before token ``end``."""
        return self.source.text[self.tokens[at].start : self.tokens[end - 1].end]

    def quote(self, at: int, end: int) -> str:
        """The same in quotation marks, for a sentence."""
        return self.source.quote(self.tokens[at].start, self.tokens[end - 1].end)

    def error(
        self, sentence: str, at: int, end: int, *, more: str = "", instead: Sequence[str] = ()
    ) -> ShotTextError:
        """An error about the tokens from ``at`` to before ``end``, see ``Source.error``."""
        start, last = self.tokens[at].start, self.tokens[end - 1].end
        return self.source.error(sentence, start=start, end=last, more=more, instead=instead)

    def token(self, at: int) -> Token | None:
        """The token at ``at``, None outside of the text."""
        return self.tokens[at] if 0 <= at < len(self.tokens) else None

    def attached(self, at: int, *, kind: TokenKind) -> Token | None:
        """The token at ``at`` if it is of that kind with no blank before it."""
        token = self.token(at)
        return token if token is not None and token.kind == kind and token.attached else None

    def phrases(self, at: int) -> list[tuple[int, str]]:
        """The phrases of one word, two words, ... that start at ``at``, each with its end."""
        found: list[tuple[int, str]] = []
        place = at
        while place < len(self.tokens) and len(found) < LONGEST_PHRASE:
            token = self.tokens[place]
            place += 1
            if token.kind == "word" or (not found and token.text in UNITS):
                found.append((place, f"{found[-1][1]} {token.text}" if found else token.text))
            elif not (found and token.text in ("-", "'") and token.attached):
                break
        return found
