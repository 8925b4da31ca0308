"""Questions and answers within what a poll of Discord holds."""

import re
from collections.abc import Sequence

from shared import limits
from shared.book import Hole, Line
from shared.errors import InputError
from shared.text import clipped, size, visible

FEWEST_ANSWERS = 2
OWN_EXAMPLE = "Saturday; Sunday; either"


def chosen_lines(hole: Hole, division: str | None) -> tuple[list[Line], list[Line]]:
    """The lines to vote on, in the order of their letters, and those that do not fit.

    Of a division (None: all) the best ten by status, then by letter; retired lines are neither.
    Errors: InputError where there is nothing to choose between.
    """
    lines = hole.lines_for(division)
    if len(lines) < FEWEST_ANSWERS:
        whose = f" for {division}" if division else ""
        has = f"only line {lines[0].variant}" if lines else "no line yet"
        raise InputError(
            f"Hole {hole.number} has {has}{whose}, so there is nothing to choose between; "
            "add another.",
            f"/line add hole:{hole.number}",
        )
    taken = sorted(lines[: limits.POLL_ANSWERS], key=lambda line: line.variant)
    return taken, lines[limits.POLL_ANSWERS :]


def line_label(line: Line, *, whose: bool = False) -> str:
    """'B: the safe one'; a line without a title by its first shot.

    ``whose`` says which divisions it is for, where it is not for all: 'B: the safe one (Oar)'.
    """
    ending = f" ({', '.join(line.divisions)})" if whose and line.divisions else ""
    ending = clipped(ending, limits.POLL_ANSWER // 2)
    said = f"{line.variant}: {_one_line(line.title or line.shots[0].shot)}"
    return clipped(said, limits.POLL_ANSWER - size(ending)) + ending


def answer_now(label: str, hole: Hole | None) -> tuple[str, str]:
    """What a line's answer is named by now, and its label: ('D', 'D (was S1): the safe one').

    A poll can't be changed once it stands, so an answer keeps the name that a shared line had.
    """
    before, sign, rest = label.partition(":")
    line = hole.line(before) if hole is not None else None
    if line is None or line.variant == before:
        return before, label
    return line.variant, f"{line.variant} (was {before}){sign}{rest}"


def question_of(text: str) -> str:
    """A coach's question. Errors: InputError for none, and for one that is too long."""
    question = _one_line(text)
    if not question:
        raise InputError("A poll needs a question.", "When do we practise?", text)
    if size(question) > limits.POLL_QUESTION:
        raise InputError(
            f"A poll's question has at most {limits.POLL_QUESTION} characters; this one has "
            f"{size(question)}.",
            "When do we practise?",
            text,
        )
    return question


def own_answers(text: str) -> tuple[str, ...]:
    """A coach's answers, between semicolons, on lines, or else between commas.

    Errors: InputError for fewer than two, more than ten, or the same one twice.
    """
    sign = next((each for each in (";", "\n", ",") if each in text), ";")
    parts = [part for part in map(_one_line, text.split(sign)) if part]
    if len(parts) < FEWEST_ANSWERS:
        raise InputError(
            "A poll needs at least two answers, with ; between them.", OWN_EXAMPLE, text
        )
    if len(parts) > limits.POLL_ANSWERS:
        raise InputError(
            f"A poll holds {limits.POLL_ANSWERS} answers at most; these are {len(parts)}.",
            OWN_EXAMPLE,
            text,
        )
    folded = [part.casefold() for part in parts]
    twice = next((part for at, part in enumerate(parts) if folded.index(folded[at]) < at), None)
    if twice is not None:
        raise InputError(f"The answer “{clipped(twice, 60)}” is there twice.", OWN_EXAMPLE, text)
    return unique_labels(parts)


def unique_labels(texts: Sequence[str]) -> tuple[str, ...]:
    """Texts clipped to what an answer holds; those that read the same then get a number."""
    labels: list[str] = []
    for text in texts:
        label, number = clipped(text, limits.POLL_ANSWER), 1
        while label.casefold() in map(str.casefold, labels):
            number += 1
            ending = f" ({number})"
            label = clipped(text, limits.POLL_ANSWER - len(ending)) + ending
        labels.append(label)
    return tuple(labels)


def _one_line(text: str) -> str:
    shown = re.sub(r"\s+", " ", visible(text)).strip()
    # Joiners alone show nothing.
    return shown if any(letter.isprintable() and not letter.isspace() for letter in shown) else ""
