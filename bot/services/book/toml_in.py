"""An event's file: TOML text to ``Event``, checked as a whole against the kit."""

import json
from functools import partial
from typing import Final

from bot.services.book.check import findings
from bot.services.book.cup_words import CupWords
from shared.book import Event
from shared.kit import Kit
from shared.shot_text import format_shot
from shared.shot_text.write import example_shot
from shared.toml_file import read_toml

_EXAMPLES: Final = {
    "": "[[holes]] number = 1 par = 4 yards = 402 (each field on its own line)",
    "number": "number = 1",
    "par": "par = 4",
    "yards": "yards = 402",
    "bearing_deg": "bearing_deg = 250",
    "wind": 'wind = "8.4 mph from 2"',
    "variant": 'variant = "A"',
    "status": 'status = "tested"',
    "worked": 'worked = { right = 5.2, long = 2, unit = "marks" }',
    "room": "room = { short_yd = 8, long_yd = 12 }",
    "leaves_yd": "leaves_yd = [95, 110]",
}


def read_event(text: str, *, file: str, kit: Kit, words: CupWords | None = None) -> Event:
    """The event that ``text`` describes; ``file`` is its name for errors, ``words`` what
    their examples name.

    Errors: FileProblemsError with every problem, each with its line and field.
    """
    shot = format_shot(example_shot(kit, "yards").model_copy(update={"wind": None}))
    own = {"shot": f'shot = "{shot}"', "shots": f'[[holes.lines.shots]] shot = "{shot}"'}
    own |= _examples_of(words or CupWords())
    return read_toml(
        text, file=file, model=Event, examples=_EXAMPLES | own, check=partial(findings, kit=kit)
    )


def _examples_of(words: CupWords) -> dict[str, str]:
    first, last, round_ = words.divisions[0], words.divisions[-1], words.rounds[0]
    return {
        "name": f"name = {_quoted(words.event)}",
        "divisions": f"divisions = [{', '.join(map(_quoted, words.divisions))}]",
        "division": f"division = {_quoted(first)}",
        "rounds": f"rounds = [{', '.join(map(_quoted, words.rounds))}]",
        "round": f"round = {_quoted(round_)}",
        "tees": f"tees = [{{ division = {_quoted(last)}, par = 4, yards = 372 }}]",
        "winds": f"winds = [{{ division = {_quoted(first)}, round = {_quoted(round_)}, "
        'wind = "8.4 mph from 2" }]',
    }


def _quoted(name: str) -> str:
    return json.dumps(name, ensure_ascii=False)
