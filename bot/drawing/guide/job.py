"""Guides as files, made by a worker: a PDF of a hole a page, or long PNGs for a forum."""

from io import BytesIO

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import PdfPages
from numpy.typing import NDArray

from bot.drawing.canvas import encode
from bot.drawing.guide.model import Guide, Paper
from bot.drawing.guide.page import hole_page
from bot.drawing.guide.phone import hole_strip
from bot.drawing.worker import tools

LONGEST_PX = 16_000  # of one image: what common viewers still open


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
        for done, hole in enumerate(guide.holes, 1):
            figure = hole_page(guide, hole, tools().faces, paper=paper)
            pages.savefig(figure)  # pyright: ignore[reportUnknownMemberType] its stub is untyped
            tools().meter.value = done
    return (stream.getvalue(),)


def guide_images(guide: Guide) -> tuple[bytes, ...]:
    """The guide as PNGs of phone width, as few as hold it."""
    strips: list[NDArray[np.uint8]] = []
    files: list[bytes] = []
    for done, hole in enumerate(guide.holes, 1):
        pixels = FigureCanvasAgg(hole_strip(guide, hole, tools().faces))
        pixels.draw()
        strip = np.asarray(pixels.buffer_rgba())
        if strips and sum(len(each) for each in strips) + len(strip) > LONGEST_PX:
            files.append(encode(np.concatenate(strips)))
            strips = []
        strips.append(strip)
        tools().meter.value = done
    files.append(encode(np.concatenate(strips)))
    return tuple(files)
