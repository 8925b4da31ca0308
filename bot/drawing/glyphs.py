"""Letters as outlines, kept once drawn: forty labels cost 15 ms instead of 100.

The faces are the DejaVu ones that come with matplotlib, so that a picture is the same everywhere.
Widths are unhinted: a text measures the same on a phone and on paper.
"""

import unicodedata
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Literal

import matplotlib
import numpy as np
from matplotlib.font_manager import FontProperties
from matplotlib.ft2font import FT2Font, Kerning, LoadFlags
from matplotlib.path import Path
from matplotlib.textpath import TextToPath
from numpy.typing import NDArray

FaceName = Literal["plain", "bold", "title"]

_FILES: dict[FaceName, str] = {
    "plain": "DejaVuSans.ttf",
    "bold": "DejaVuSans-Bold.ttf",
    "title": "DejaVuSerif-Bold.ttf",
}
_EM = 100.0  # px per em at which outlines are kept
_SIXTYFOURTH = 1 / 64  # FreeType's unit of kerning, px
_SHAPED_FROM = 0x0590  # from Hebrew on, letters join or run leftwards: the text is shaped whole
_MOST_PAIRS = 20_000
_STAND_IN = "□"
_CLOSED = {"Cc", "Cf", "Cs", "Co", "Cn"}


@dataclass(frozen=True)
class Outline:
    """Outline of a text at 1 px per em, baseline at 0, y up; ``width`` in em."""

    path: Path
    width: float


class Face:
    """One face; keeps the outlines it has drawn."""

    def __init__(self, name: FaceName) -> None:
        self.file = FilePath(matplotlib.get_data_path()) / "fonts" / "ttf" / _FILES[name]
        self.properties = FontProperties(fname=str(self.file))
        self._font = FT2Font(str(self.file))
        self._font.set_size(_EM, 72)
        self._glyphs: dict[str, tuple[NDArray[np.float64], NDArray[np.uint8], float]] = {}
        self._gaps: dict[tuple[str, str], float] = {}

    def clean(self, text: str) -> str:
        """``text`` on one line, without what can't be drawn."""
        flat = " ".join(text.split())
        kept = "".join(c for c in flat if unicodedata.category(c) not in _CLOSED)
        return "".join(c if self._font.get_char_index(ord(c)) else _STAND_IN for c in kept)

    def outline(self, text: str, *, grid: float = 0.0) -> Outline:
        """The outline of a text that is ``clean``; letters begin at multiples of ``grid`` em."""
        if any(ord(c) >= _SHAPED_FROM and not 0x2000 <= ord(c) < 0x2E80 for c in text):
            return self._shaped(text)
        at, vertices, codes = 0.0, [np.zeros((0, 2))], [np.zeros(0, dtype=np.uint8)]
        before = ""
        for char in text:
            points, kinds, advance = self._glyph(char)
            at += self._gap(before, char)
            at = round(at / grid) * grid if grid else at
            vertices.append(points + np.array((at, 0.0)))
            codes.append(kinds)
            at += advance
            before = char
        return Outline(Path(np.concatenate(vertices), np.concatenate(codes)), at)

    def width(self, text: str) -> float:
        """Width in em of a text that is ``clean``."""
        if any(ord(c) >= _SHAPED_FROM for c in text):
            return self.outline(text).width
        pairs = zip("\0" + text, text, strict=False)
        return sum(self._gap(a, b) + self._glyph(b)[2] for a, b in pairs)

    def _glyph(self, char: str) -> tuple[NDArray[np.float64], NDArray[np.uint8], float]:
        kept = self._glyphs.get(char)
        if kept is None:
            glyph = self._font.load_char(ord(char), flags=LoadFlags.NO_HINTING)
            points, kinds = self._font.get_path()
            advance = glyph.linearHoriAdvance / 65536 / _EM
            kept = (np.asarray(points) / _EM, np.asarray(kinds, dtype=np.uint8), advance)
            self._glyphs[char] = kept
        return kept

    def _gap(self, left: str, right: str) -> float:
        if left in ("", "\0"):
            return 0.0
        kept = self._gaps.get((left, right))
        if kept is None:
            one, two = (self._font.get_char_index(ord(c)) for c in (left, right))
            kept = self._font.get_kerning(one, two, Kerning.UNFITTED) * _SIXTYFOURTH / _EM
            if len(self._gaps) >= _MOST_PAIRS:
                self._gaps.clear()
            self._gaps[left, right] = kept
        return kept

    def _shaped(self, text: str) -> Outline:
        vertices, codes = TextToPath().get_text_path(self.properties, text)
        at = np.asarray(vertices, dtype=np.float64).reshape(-1, 2) / _EM
        return Outline(Path(at, codes), float(at[:, 0].max(initial=0.0)))


class Faces:
    """The faces of one drawer. Not for two threads at once."""

    def __init__(self) -> None:
        self._faces: dict[FaceName, Face] = {}

    def __getitem__(self, name: FaceName) -> Face:
        face = self._faces.get(name)
        if face is None:
            face = self._faces[name] = Face(name)
        return face

    def width_px(self, text: str, size_px: float, face: FaceName = "plain") -> float:
        """Width of a text as it will be drawn."""
        return self[face].width(self[face].clean(text)) * size_px

    def wrap(
        self, text: str, *, size_px: float, width_px: float, face: FaceName = "plain"
    ) -> list[str]:
        """``text`` in lines of at most ``width_px``; a longer word is broken."""
        lines: list[str] = []
        line = ""
        for word in self[face].clean(text).split(" "):
            longer = f"{line} {word}" if line else word
            if self.width_px(longer, size_px, face) <= width_px:
                line = longer
                continue
            if line:
                lines.append(line)
            line = word
            while self.width_px(line, size_px, face) > width_px:
                part = self._part(line, size_px, width_px, face)
                lines.append(line[:part])
                line = line[part:]
        return [*lines, line] if line else lines

    def _part(self, word: str, size_px: float, width_px: float, face: FaceName) -> int:
        count = 1
        while count < len(word) and self.width_px(word[: count + 1], size_px, face) <= width_px:
            count += 1
        return count

    def clipped(
        self, text: str, *, size_px: float, width_px: float, face: FaceName = "plain"
    ) -> str:
        """``text``, or its beginning with an ellipsis where it is wider than ``width_px``."""
        text = self[face].clean(text)
        if self.width_px(text, size_px, face) <= width_px:
            return text
        room = width_px - self.width_px("…", size_px, face)
        return text[: self._part(text, size_px, room, face)].rstrip(" ,;·") + "…"
