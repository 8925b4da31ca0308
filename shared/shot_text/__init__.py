"""Shot text: one forgiving grammar for a wind question, used wherever a shot is typed or stored.

"8.4 mph from 2, 5-iron, 165, up 5", in any order, with or without commas. A text goes through
``tokens`` (folded words and numbers), ``items`` (with the kit's names and units known), ``read``
(which number belongs to which word) and ``draft`` (a shot, each thing said once).
"""

from shared.shot_text.complete import complete
from shared.shot_text.reader import Reader, missing, parse, require_question
from shared.shot_text.source import MAX_TEXT
from shared.shot_text.write import format_shot

__all__ = [
    "MAX_TEXT",
    "Reader",
    "complete",
    "format_shot",
    "missing",
    "parse",
    "require_question",
]
