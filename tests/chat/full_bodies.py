"""Bodies of requests in which everything stands at Discord's limit, to be pushed over it."""

from copy import deepcopy
from typing import Any

from tests.chat.limits import COMPONENTS_V2

Body = dict[str, Any]

SILENT = {"parse": []}


def button(number: int) -> Body:
    return {"type": 2, "style": 2, "label": "b" * 80, "custom_id": f"{number:0100}"}


def select(number: int) -> Body:
    options = [
        {"label": "l" * 100, "value": f"{value:0100}", "description": "d" * 100}
        for value in range(25)
    ]
    placeholder = "p" * 150
    return {
        "type": 3,
        "custom_id": f"s{number}",
        "options": options,
        "placeholder": placeholder,
        "min_values": 0,
        "max_values": 25,
    }


def rows() -> list[Body]:
    """Build five rows, each at its limit."""
    full = [
        {"type": 1, "components": [button(5 * row + place) for place in range(5)]}
        for row in range(4)
    ]
    return [*full, {"type": 1, "components": [select(1)]}]


def message() -> Body:
    """Build a message with everything at its limit."""
    fields = [{"name": "n" * 10, "value": "v" * 20} for _ in range(25)]
    first = {"title": "t" * 256, "description": "d" * 2000, "fields": fields}
    second = {"footer": {"text": "f" * 2048}, "author": {"name": "a" * 256}, "title": "t"}
    rest = [{"description": "x" * 86} for _ in range(7)]
    last = {"fields": [{"name": "n" * 37, "value": "v" * 50}]}
    return {
        "content": "c" * 2000,
        "embeds": [first, second, *rest, last],
        "components": rows(),
        "attachments": [{"id": number} for number in range(10)],
        "allowed_mentions": deepcopy(SILENT),
    }


def poll() -> Body:
    answers = [{"poll_media": {"text": "a" * 55}} for _ in range(10)]
    return {
        "poll": {"question": {"text": "q" * 300}, "answers": answers, "duration": 768.0},
        "allowed_mentions": deepcopy(SILENT),
    }


def cards() -> Body:
    """Build a message of the newer components, 40 of them."""
    texts = [{"type": 10, "content": "t" * 100} for _ in range(36)]
    section = {"type": 9, "components": [{"type": 10, "content": "t"}], "accessory": button(1)}
    return {
        "flags": COMPONENTS_V2,
        "components": [{"type": 17, "components": [*texts, section]}],
        "allowed_mentions": deepcopy(SILENT),
    }


def modal() -> Body:
    field = {"type": 4, "style": 1, "custom_id": "miss", "placeholder": "p" * 100}
    field |= {"value": "v" * 4000, "min_length": 0, "max_length": 4000}
    parts = [
        {"type": 18, "label": "l" * 45, "description": "d" * 100, "component": field},
        {"type": 1, "components": [{"type": 4, "label": "l" * 45, "custom_id": "club"}]},
        {"type": 10, "content": "Read this."},
        {"type": 18, "label": "Which", "component": select(2)},
        {"type": 18, "label": "Who", "component": {"type": 5, "custom_id": "who"}},
    ]
    return {"type": 9, "data": {"title": "t" * 45, "custom_id": "m" * 100, "components": parts}}


def choices() -> Body:
    texts = [{"name": "n" * 100, "value": "v" * 100} for _ in range(24)]
    return {"type": 8, "data": {"choices": [*texts, {"name": "number", "value": 2**53}]}}


def commands() -> list[Body]:
    """Build 100 commands of which the first has 8,000 characters."""
    options = [
        {
            "type": 3,
            "name": f"{number:032}",
            "description": "d" * 100,
            "required": number < 2,
            "choices": [{"name": f"{choice:06}", "value": "v" * 13} for choice in range(25)],
        }
        for number in range(13)
    ]
    options.append({"type": 3, "name": "last", "description": "d" * 26, "autocomplete": True})
    first = {"type": 1, "name": "wind", "description": "d" * 75, "options": options}
    deep = {"type": 1, "name": "show", "description": "d", "options": options[:2]}
    group = {"type": 1, "name": "bag", "description": "d", "options": [deep]}
    menu = {"type": 3, "name": "Log This Shot", "description": ""}
    rest = [{"type": 1, "name": f"c-{number}", "description": "d"} for number in range(97)]
    return [first, group, menu, *rest]


def thread() -> Body:
    inside = {"content": "first", "allowed_mentions": deepcopy(SILENT)}
    return {"name": "n" * 100, "message": inside}
