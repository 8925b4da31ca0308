"""The inks: told apart by every eye, and readable on every ground."""

import numpy as np
import pytest

from bot.drawing import style

# Machado, Oliveira, Fernandes 2009 (IEEE TVCG 15:1291-1298), severity 1; from memory, the rows'
# sums of one checked below.
BLINDNESS = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216),
               (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413),
               (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602),
               (0.004733, 0.691367, 0.303900)),
    "none": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
}  # fmt: skip


def linear(colour: str) -> np.ndarray:
    """Linear RGB of an sRGB colour (IEC 61966-2-1)."""
    share = np.frombuffer(bytes.fromhex(colour[1:]), dtype=np.uint8) / 255
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE L*a*b* of linear sRGB, D65."""
    to_xyz = np.array(
        ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))
    )
    share = to_xyz @ np.clip(rgb, 0, 1) / (to_xyz @ np.ones(3))
    root = np.where(share > (6 / 29) ** 3, np.cbrt(share), share / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array((116 * root[1] - 16, 500 * (root[0] - root[1]), 200 * (root[1] - root[2])))


@pytest.mark.parametrize("kind", BLINDNESS)
def test_inks_differ_for_every_eye(kind: str) -> None:
    matrix = np.array(BLINDNESS[kind])
    assert matrix.sum(axis=1) == pytest.approx(1, abs=1e-5)
    seen = {ink: lab(matrix @ linear(ink)) for ink in (style.INK, style.SEA, style.RUST)}
    grounds = {ink: lab(matrix @ linear(ink)) for ink in (style.PAPER, style.CARD, style.SAND)}
    for one in seen:
        for other in {**seen, **grounds}:
            if one != other:
                gap = np.linalg.norm(seen[one] - {**seen, **grounds}[other])
                assert gap > 18, (one, other)  # 2.3 is a just noticeable difference


@pytest.mark.parametrize("ink", [style.INK, style.SOFT, style.SEA, style.RUST])
@pytest.mark.parametrize("ground", [style.PAPER, style.CARD, style.SHADE])
def test_words_stand_out_from_their_ground(ink: str, ground: str) -> None:
    """WCAG 2.1, 1.4.3: a contrast of at least 4.5 for small text."""
    luminance = [0.0722 * b + 0.7152 * g + 0.2126 * r for r, g, b in (linear(ink), linear(ground))]
    dark, light = sorted(luminance)
    assert (light + 0.05) / (dark + 0.05) >= 4.5
