"""Where in a TOML text each field stands, and whether a text is safe to parse at all."""

import re
import tomllib
from bisect import bisect_right
from typing import Final

Path = tuple[str | int, ...]

MAX_DEPTH: Final = 20  # brackets in brackets, or parts of one dotted key

# Unclosed strings are taken up to their line's or the text's end, so that the time stays linear.
_STRING: Final = (
    r'"""(?:\\.|[^\\])*?(?:"""+|\Z)|'
    r"'''.*?(?:'''+|\Z)|"
    r'"(?:\\.|[^"\\\n])*"?|'
    r"'[^'\n]*'?"
)
_PIECE: Final = re.compile(
    rf"(?P<skip>{_STRING}|\#[^\n]*|[^\[\]{{}}.=,\n\"'\#]+)|(?P<mark>.|\n)", re.S
)
_BLANK: Final = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY: Final = re.compile(rf"[ \t]*(?:(?P<bare>[A-Za-z0-9_-]+)|(?P<quoted>{_STRING}))[ \t]*", re.S)
_SCALAR: Final = re.compile(r"[^,\]}\n#]*")
_TEXT: Final = re.compile(_STRING, re.S)


def too_deep_at(text: str) -> int:
    """The line on which nesting passes ``MAX_DEPTH``, 0 if it never does. Linear in the text."""
    depth = dots = 0
    for piece in _PIECE.finditer(text):
        mark = piece.group("mark")
        if mark is None:
            continue
        if mark == ".":
            dots += 1
        else:
            dots = 0
            depth += (mark in "[{") - (mark in "]}")
        if max(depth, dots) > MAX_DEPTH:
            return text.count("\n", 0, piece.start()) + 1
    return 0


class Lines:
    """The line of every field, table and list entry of a TOML text that ``tomllib`` accepts."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._starts = [0, *(match.end() for match in re.finditer("\n", text))]
        self._lines: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}
        self._scan()

    def line(self, path: Path) -> int:
        """The line of the field at ``path``, of what holds it where it is not there; from 1."""
        for length in range(len(path), 0, -1):
            if path[:length] in self._lines:
                return self._lines[path[:length]]
        return 1

    def _scan(self) -> None:
        base: Path = ()
        while True:
            self._skip_blank()
            if self._at >= len(self._text):
                return
            before = self._at
            if self._text[self._at] == "[":
                base = self._header()
            else:
                self._pair(base)
            if self._at == before:  # no TOML after all
                return

    def _skip_blank(self) -> None:
        match = _BLANK.match(self._text, self._at)
        assert match is not None
        self._at = match.end()

    def _note(self, path: Path, at: int) -> None:
        self._lines.setdefault(path, bisect_right(self._starts, at))

    def _header(self) -> Path:
        start = self._at
        repeated = self._text.startswith("[[", start)
        self._at += 2 if repeated else 1
        keys = self._keys()
        self._at += 2 if repeated else 1
        path: Path = ()
        for place, key in enumerate(keys):
            path = (*path, key)
            if repeated and place == len(keys) - 1:
                self._counts[path] = self._counts.get(path, 0) + 1
            self._note(path, start)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
                self._note(path, start)
        return path

    def _keys(self) -> list[str]:
        keys: list[str] = []
        while match := _KEY.match(self._text, self._at):
            self._at = match.end()
            quoted = match.group("quoted")
            keys.append(match.group("bare") if quoted is None else _unquoted(quoted))
            if not self._text.startswith(".", self._at):
                break
            self._at += 1
        return keys

    def _pair(self, base: Path) -> None:
        start = self._at
        path = base
        for key in self._keys():
            path = (*path, key)
            self._note(path, start)
        self._at += 1  # the equals sign
        self._value(path)

    def _value(self, path: Path) -> None:
        self._skip_blank()
        mark = self._text[self._at : self._at + 1]
        if mark == "[":
            self._list(path)
        elif mark == "{":
            self._table(path)
        else:
            match = (_TEXT if mark in ('"', "'") else _SCALAR).match(self._text, self._at)
            assert match is not None
            self._at = match.end()

    def _list(self, path: Path) -> None:
        self._at += 1
        place = 0
        while self._goes_on("]"):
            self._note((*path, place), self._at)
            self._value((*path, place))
            place += 1

    def _table(self, path: Path) -> None:
        self._at += 1
        while self._goes_on("}"):
            self._pair(path)

    def _goes_on(self, close: str) -> bool:
        """Steps over blanks and a comma; False, and past it, at the closing bracket."""
        self._skip_blank()
        if self._text.startswith(",", self._at):
            self._at += 1
            self._skip_blank()
        if self._at >= len(self._text):
            return False
        if self._text[self._at] == close:
            self._at += 1
            return False
        return True


def _unquoted(key: str) -> str:
    return str(tomllib.loads(f"key = {key}")["key"])
