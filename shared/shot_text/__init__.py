"""Shot text: one forgiving grammar for a wind question, used wherever a shot is typed or stored.

"8.4 mph from 2, 5-iron, 165, up 5", in any order, with or without commas. A text goes through
``tokens`` (folded words and numbers), ``item_reader`` (the kit's names and units known),
``grammar`` (which number belongs to which word) and ``shot_builder`` (a shot, each thing said
once). What could mean two things is refused and both are offered; a slip is taken silently only
where it can be nothing else (``slips``). What players say otherwise is offered in the grammar's
words (``rephrased``, ``reworded``), never assumed.
"""

from shared.shot_text.complete import complete
from shared.shot_text.reader import Reader, missing, parse, require_question
from shared.shot_text.source import MAX_TEXT
from shared.shot_text.write import format_shot, in_units

__all__ = [
    "MAX_TEXT",
    "Reader",
    "complete",
    "format_shot",
    "in_units",
    "missing",
    "parse",
    "require_question",
]
