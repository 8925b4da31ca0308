"""Guides as files, made by a worker: a PDF of a hole a page, or a PNG a hole.

Holes without a line take a row each, together on one page or picture at the end.
"""

from io import BytesIO

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from bot.drawing.canvas import encode
from bot.drawing.guide.model import Guide, Paper
from bot.drawing.guide.page import hole_page
from bot.drawing.guide.phone import hole_strip
from bot.drawing.guide.rest import rest_page, rest_strip
from bot.drawing.worker import tools


def guide_pdf(guide: Guide, paper: Paper) -> tuple[bytes, ...]:
    """The guide as one PDF. It carries no date, so that the same guide gives the same bytes."""
    stream = BytesIO()
    about = {
        "Title": guide.title,
        "Subject": guide.whose,
        "Creator": "Leeward",
        "Producer": "Leeward",
        "CreationDate": None,
    }
    with PdfPages(stream, metadata=about) as pages:
        for done, hole in enumerate(guide.lined, 1):
            figure = hole_page(guide, hole, tools().faces, paper=paper)
            pages.savefig(figure)  # pyright: ignore[reportUnknownMemberType] its stub is untyped
            tools().meter.value = done
        if guide.bare:
            rest = rest_page(guide, tools().faces, paper=paper)
            pages.savefig(rest)  # pyright: ignore[reportUnknownMemberType] its stub is untyped
        tools().meter.value = len(guide.holes)
    return (stream.getvalue(),)


def guide_images(guide: Guide) -> tuple[bytes, ...]:
    """The guide as PNGs of phone width: one for each hole with a line, one for all others."""
    files: list[bytes] = []
    for done, hole in enumerate(guide.lined, 1):
        files.append(_png(hole_strip(guide, hole, tools().faces)))
        tools().meter.value = done
    if guide.bare:
        files.append(_png(rest_strip(guide, tools().faces)))
    tools().meter.value = len(guide.holes)
    return tuple(files)


def _png(strip: Figure) -> bytes:
    """A strip at its own density, however long it is."""
    pixels = FigureCanvasAgg(strip)
    pixels.draw()
    return encode(np.asarray(pixels.buffer_rgba()))
