"""An event's file: TOML text to ``Event``, checked as a whole against the kit."""

from functools import partial
from typing import Final

from bot.services.book.check import findings
from shared.book import Event
from shared.kit import Kit
from shared.shot_text import format_shot
from shared.shot_text.write import example_shot
from shared.toml_file import read_toml

_WIND: Final = '{ division = "Sail", round = "Saturday", wind = "8.4 mph from 2" }'
_TEE: Final = '{ division = "Oar", par = 4, yards = 372 }'
_EXAMPLES: Final = {
    "": "[[holes]] number = 1 par = 4 yards = 402 (each field on its own line)",
    "name": 'name = "Spring Cup"',
    "divisions": 'divisions = ["Sail", "Oar"]',
    "division": 'division = "Sail"',
    "rounds": 'rounds = ["Saturday", "Sunday"]',
    "round": 'round = "Saturday"',
    "number": "number = 1",
    "par": "par = 4",
    "yards": "yards = 402",
    "bearing_deg": "bearing_deg = 250",
    "tees": f"tees = [{_TEE}]",
    "winds": f"winds = [{_WIND}]",
    "wind": 'wind = "8.4 mph from 2"',
    "variant": 'variant = "A"',
    "status": 'status = "tested"',
    "worked": 'worked = { right = 5.2, long = 2, unit = "marks" }',
    "room": "room = { short_yd = 8, long_yd = 12 }",
    "leaves_yd": "leaves_yd = [95, 110]",
}


def read_event(text: str, *, file: str, kit: Kit) -> Event:
    """The event that ``text`` describes; ``file`` is its name for errors.

    Errors: FileProblemsError with every problem, each with its line and field.
    """
    shot = format_shot(example_shot(kit, "yards").model_copy(update={"wind": None}))
    own = {"shot": f'shot = "{shot}"', "shots": f'[[holes.lines.shots]] shot = "{shot}"'}
    return read_toml(
        text, file=file, model=Event, examples=_EXAMPLES | own, check=partial(findings, kit=kit)
    )
