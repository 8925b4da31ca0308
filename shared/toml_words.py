"""The messages of the TOML parser and of pydantic, said in plain words."""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final, get_args

from pydantic import BaseModel

_MAX_SHOWN: Final = 40

_SYNTAX: Final = {
    "Invalid statement": "This line begins neither a field nor a [table].",
    "Invalid initial character": "This is not a field's name.",
    "Expected '='": "A field's name needs = and a value behind it.",
    "Invalid value": "The value can't be read; text needs quotation marks.",
    "Unclosed array": "A list begun with [ is not closed with ].",
    "Unclosed inline table": "A table begun with { is not closed with }.",
    "Unterminated string": "A text is not closed with a quotation mark.",
    "Illegal character": "A line break or control character stands where none may.",
    "Found invalid character": "A control character stands where none may.",
    "Cannot overwrite": "This field already stands further up.",
    "Cannot declare": "This table already stands further up.",
    "Cannot mutate": "This table was already complete further up.",
    "Cannot redefine": "This table already stands further up.",
    "Duplicate inline table key": "A field stands twice in one table.",
    "Expected newline": "Something stands behind the end of this line's value.",
    'Expected "\'"': "A text is not closed with a quotation mark.",
    "Expected ']": "A [table] is not closed.",
    "Unescaped": "A backslash in a text needs a second one.",
    "Exceeds the limit": "A number has too many digits.",
    "maximum recursion": "The brackets nest too deep.",
}


def syntax_sentence(message: str) -> str:
    """What the TOML parser's ``message`` means."""
    for start, sentence in _SYNTAX.items():
        if message.startswith(start):
            return sentence
    plain = message.split(" (at ")[0].rstrip(".")
    return f"This can't be read as TOML ({plain[:1].lower()}{plain[1:]})."


def sentence_for(detail: Mapping[str, Any], model: type[BaseModel]) -> str:
    """What one of pydantic's errors means; ``model`` is what the whole file should be."""
    kind: str = detail["type"]
    context: Mapping[str, Any] = detail.get("ctx", {})
    path: tuple[str | int, ...] = detail["loc"]
    name = next((key for key in reversed(path) if isinstance(key, str)), "the file")
    field = f"“{name[:_MAX_SHOWN]}”"
    if path and isinstance(path[-1], int):
        field = f"Entry {path[-1] + 1} in {field}"
    given = _described(detail.get("input"))
    if kind == "value_error":
        message = str(context["error"]).rstrip(".")
        message = re.sub(r"\b([a-z]+_[a-z_]+)\b", "“\\1”", message)
        return f"{message[:1].upper()}{message[1:]}."
    if kind == "extra_forbidden":
        fields = _listed([f"{own}" for own in _fields_at(model, path[:-1])])
        return f"{field} is not a field here; the fields are {fields}."
    if kind == "missing":
        return f"{field} is missing."
    if kind == "literal_error":
        allowed = re.findall(r"'([^']*)'", context["expected"])
        return f"{field} must be {_listed(allowed, last='or')}, not {given}."
    for kinds, need in _NEEDS:
        if kind in kinds:
            return f"{field} must be {need}, not {given}."
    if kind in _BOUNDS:
        key, words = _BOUNDS[kind]
        return f"{field} must be {words} {context[key]:g}, not {given}."
    if kind in _SIZES:
        return f"{field} {_size(kind, context)}."
    message = str(detail["msg"])
    return f"{field} can't be used ({message[:1].lower()}{message[1:]})."


_NEEDS: Final = (
    (("float_type", "float_parsing"), "a number"),
    (("int_type", "int_parsing", "int_from_float", "int_parsing_size"), "a whole number"),
    (("finite_number",), "a finite number"),
    (("string_type",), "text in quotation marks"),
    (("bool_type", "bool_parsing"), "true or false"),
    (("tuple_type", "list_type", "set_type", "frozen_set_type"), "a list in [ ]"),
    (("dict_type", "model_type", "model_attributes_type", "mapping_type"), "a table"),
    (
        ("string_pattern_mismatch",),
        "made of letters, digits, blanks and . ' + - with a letter or digit first",
    ),
)
_BOUNDS: Final = {
    "greater_than": ("gt", "above"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "below"),
    "less_than_equal": ("le", "at most"),
}
_SIZES: Final = ("string_too_short", "string_too_long", "too_short", "too_long")


def _size(kind: str, context: Mapping[str, Any]) -> str:
    match kind:
        case "string_too_short" if context["min_length"] == 1:
            return "must not be empty"
        case "string_too_short":
            return f"must have at least {context['min_length']} characters"
        case "string_too_long":
            return f"must have at most {context['max_length']} characters"
        case "too_short":
            least = context["min_length"]
            return f"needs at least {least} entr{'y' if least == 1 else 'ies'}"
        case _:
            return f"may have at most {context['max_length']} entries"


def _described(value: object) -> str:
    """A value of the file as its author would call it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        shown = value if len(value) <= _MAX_SHOWN else value[:_MAX_SHOWN] + "…"
        return f"the text “{shown}”"
    if isinstance(value, int):
        digits = str(value) if abs(value) < 10**15 else "a very large number"
        return digits
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "a date" if any(str(key).startswith("\N{NULL}") for key in value) else "a table"  # pyright: ignore
    return "nothing" if value is None else "this"


def _fields_at(model: type[BaseModel], path: Iterable[str | int]) -> list[str]:
    """The names of the fields that the table at ``path`` may have."""
    here: type[BaseModel] | None = model
    for key in path:
        if here is None or isinstance(key, int):
            continue
        field = here.model_fields.get(key)
        here = None if field is None else next(_models_in(field.annotation), None)
    return list(here.model_fields) if here is not None else []


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _models_in(inner)


def _listed(names: list[str], *, last: str = "and") -> str:
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"
