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
from engine.variants import compare_variants, rate_posteriors
from shared.bag import Bag
from shared.book import Room
from shared.shot_text import parse

QUESTION = "8.4 mph from 2, 5-iron, 160, up 4"
ROOM = Room(short_yd=5, long_yd=8, left_yd=9, right_yd=9)
SPREAD = Spread(right_sd_m=2.1, long_sd_m=3.0, shots=14)  # invented
CLUB = "7-iron"
LINES = (("A · low hybrid, run up", 11, 24), ("B · high 7-iron", 6, 19), ("C · wedge", 3, 18))


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
    holed, tries = [made for _, made, _ in LINES], [tried for _, _, tried in LINES]
    table = compare_variants(rate_posteriors(holed, tries))
    bars = tuple(
        Bar(
            label=label,
            value=float(table.rate[row]),
            low=float(table.low[row]),
            high=float(table.high[row]),
            note=f"{made} of {tried} holed · best with a chance of {table.best[row]:.0%}",
        )
        for row, (label, made, tried) in enumerate(LINES)
    )
    return BarsScene(
        title="Hole 4: which line to take",
        subtitle=f"{sum(tries)} tries, invented for the demo",
        bars=bars,
        interval=f"{table.confidence:.0%} interval of the hole-out rate",
    )


def main(folder: Path = DEMO) -> None:
    """Write the pictures into ``folder``."""
    for name, data in pictures().items():
        (folder / name).write_bytes(data)


if __name__ == "__main__":
    main(*(Path(each) for each in sys.argv[1:2]))
