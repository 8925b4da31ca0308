"""The README's example pictures, made with the demo's kit: ``python -m bot.demo.pictures``.

The counts behind the variants are invented; what is drawn from them is computed.
"""

import sys
from pathlib import Path

from bot.drawing.bars import bars_figure
from bot.drawing.canvas import png
from bot.drawing.glyphs import Faces
from bot.drawing.scene import Spread
from bot.drawing.sheet import sheet_figure
from bot.drawing.shot_picture import shot_figure
from bot.drawing.trust_scene import Bar, BarsScene
from bot.services.caddie.caddie import Caddie
from bot.services.pictures.service import scene_of
from bot.services.pictures.wind_sheets import make_sheet
from bot.settings import DEMO, DEMO_KIT, load_kit
from engine.group_rates import MemberTries, learn_group
from engine.intervals import CONFIDENCE
from engine.verdict import TriedLine, hole_verdict
from shared.bag import Bag
from shared.book import Room
from shared.shot_text import parse

QUESTION = "8.4 mph from 2, 5-iron, 160, up 4"
ROOM = Room(short_yd=5, long_yd=8, left_yd=9, right_yd=9)
SPREAD = Spread(right_sd_m=2.1, long_sd_m=3.0, shots=14)  # invented
CLUB = "7-iron"
LINES = (  # label, holed and tries of each member who played it
    ("A · low hybrid, run up", (5, 2, 4), (9, 6, 9)),
    ("B · high 7-iron", (1, 3, 2), (4, 8, 7)),
    ("C · wedge", (0, 2, 1), (5, 7, 6)),
)


def pictures() -> dict[str, bytes]:
    """The pictures by file name."""
    caddie, faces = Caddie(load_kit(DEMO_KIT)), Faces()
    answer = caddie.answer(shot=parse(QUESTION, kit=caddie.kit), bag=Bag(), given=QUESTION)
    scene = scene_of(caddie, answer, room=ROOM, spread=SPREAD)
    sheet = make_sheet(caddie, Bag(), clubs=(CLUB,))
    return {
        "shot.png": png(shot_figure(scene, faces)),
        "sheet.png": png(sheet_figure(sheet, faces)),
        "variants.png": png(bars_figure(variants(), faces)),
    }


def variants() -> BarsScene:
    """The demo's lines as bars, from the engine's own posteriors."""
    lines = [TriedLine(label, MemberTries(made, tried)) for label, made, tried in LINES]
    found = hole_verdict(lines, learn_group([line.members for line in lines]))
    bars = tuple(
        Bar(
            label=row.name,
            value=row.rate,
            low=row.low,
            high=row.high,
            note=f"{row.holed:g} of {row.tries:g} holed · best with a chance of {row.best:.0%}",
        )
        for row in found.rows
    )
    return BarsScene(
        title="Hole 4: which line to take",
        subtitle=f"{found.tries:g} tries, invented for the demo",
        bars=bars,
        interval=f"{CONFIDENCE:.0%} interval of the hole-out rate",
    )


def main(folder: Path = DEMO) -> None:
    """Write the pictures into ``folder``."""
    for name, data in pictures().items():
        (folder / name).write_bytes(data)


if __name__ == "__main__":
    main(*(Path(each) for each in sys.argv[1:2]))
