"""``python -m bot ask``: the same answer as in the chat, in a terminal or as one JSON object."""

from rich.console import Console
from rich.text import Text

from bot.services.caddie.caddie import Caddie
from shared.answer import Answer
from shared.answer_text import answer_lines
from shared.bag import Bag
from shared.kit import Kit
from shared.shot_text import parse, require_question
from shared.units import UnitSystem


def ask(*, question: str, kit: Kit, units: UnitSystem) -> Answer:
    """The answer to a question as typed. Errors: every LeewardError of the parser and caddie."""
    bag = Bag(units=units)
    shot = parse(question, kit=kit, units=units, bag=bag)
    require_question(shot, question, kit=kit, units=units)
    return Caddie(kit).answer(shot=shot, bag=bag, given=question)


def show(answer: Answer, *, kit: Kit, units: UnitSystem, console: Console) -> None:
    """Print an answer for a person."""
    lines = answer_lines(answer, units=units, mark=kit.mark.name)
    console.print(Text(lines.headline, style="bold"))
    console.print(Text(lines.asked))
    for label, text in lines.rows:
        console.print(Text.assemble((f"{label:14}", "bold"), text))
    for note in lines.notes:
        console.print(Text(note, style="italic"))
    console.print(Text(lines.footer, style="dim"))
