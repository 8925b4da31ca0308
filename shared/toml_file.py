"""Reading a TOML text into a model, with every problem said in plain words and with its line."""

import json
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeVar, cast

from pydantic import BaseModel, ValidationError

from shared.errors import KitFileError
from shared.toml_lines import Lines, Path, too_deep_at
from shared.toml_words import sentence_for, syntax_sentence

MAX_BYTES: Final = 1_000_000
MAX_VALUES: Final = 50_000
MAX_PROBLEMS: Final = 100
MAX_GIVEN: Final = 200  # characters of the offending line kept in an error
DATE: Final = "\N{NULL}date"  # marks a TOML date in JSON, which has none

M = TypeVar("M", bound=BaseModel)
Data = Mapping[str, object]
Finding = tuple[Path, str]  # where, and the sentence


@dataclass(frozen=True, slots=True)
class FileProblem:
    """One thing wrong in a file: its line (from 1), its field and a sentence about it."""

    line: int
    field: str
    sentence: str


@dataclass
class FileProblemsError(KitFileError):
    """A file that can't be used, with everything wrong in it; the sentence tells the first."""

    problems: tuple[FileProblem, ...] = ()


def decode(data: bytes, file: str) -> str:
    """The text of a file of at most 1 MB in UTF-8. Errors: FileProblemsError."""
    if len(data) > MAX_BYTES:
        raise _too_big(file, len(data))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        sentence = f"Byte {error.start + 1} of the file is not UTF-8 text; save it as UTF-8."
        raise _one_problem(file, line, sentence, example='name = "My game"') from error


def read_toml(
    text: str,
    *,
    file: str,
    model: type[M],
    examples: Mapping[str, str] | None = None,
    check: Callable[[Data], Iterable[Finding]] | None = None,
    check_model: Callable[[M], Iterable[Finding]] | None = None,
) -> M:
    """``text`` as a ``model``; ``file`` is its name for errors.

    ``examples`` gives a right line by field name, under "" one for everything else. ``check``
    looks for more problems in the raw data, ``check_model`` in a model that is valid by itself.
    Errors: FileProblemsError with every problem found, at most 100.
    """
    examples = examples or {}
    data = _parsed(text, file, examples.get("", 'name = "My game"'))
    findings = list(check(data)) if check else []
    try:
        made = model.model_validate_json(json.dumps(data, default=_as_json), strict=True)
    except ValidationError as error:
        findings = [*findings, *_validation_findings(error, model, findings)]
        raise _problems(text, file, data, findings, examples) from error
    if check_model and not findings:
        findings += check_model(made)
    if findings:
        raise _problems(text, file, data, findings, examples)
    return made


def render_problems(error: FileProblemsError, *, most: int = 20) -> str:
    """Every problem on a line of its own, after ``most`` of them a count of the rest."""
    lines = [
        f"{error.file}, line {problem.line}"
        + (f", {problem.field}" if problem.field else "")
        + f": {problem.sentence}"
        for problem in error.problems[:most]
    ]
    rest = len(error.problems) - most
    return "\n".join([*lines, f"and {rest} more"] if rest > 0 else lines)


def _parsed(text: str, file: str, example: str) -> dict[str, object]:
    text = text.removeprefix("\ufeff")
    if len(text) > MAX_BYTES:
        raise _too_big(file, len(text))
    deep = too_deep_at(text)
    if deep:
        raise _one_problem(file, deep, "The brackets or dots here nest too deep.", example=example)
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise _syntax_problem(text, file, str(error), example) from error
    if not data:
        sentence = "There is nothing in the file but blanks and comments."
        raise _one_problem(file, 1, sentence, example=example)
    if _is_crowded(data):
        sentence = f"The file holds more than {MAX_VALUES:,} values."
        raise _one_problem(file, 1, sentence, example=example)
    return data


def _is_crowded(data: object) -> bool:
    """Whether there are more values than any file of ours has; each wrong one costs time."""
    waiting: list[object] = [data]
    count = 0
    while waiting and count <= MAX_VALUES:
        value = waiting.pop()
        count += 1
        if isinstance(value, dict):
            waiting.extend(cast(Data, value).values())
        elif isinstance(value, list):
            waiting.extend(cast("list[object]", value))
    return count > MAX_VALUES


def _syntax_problem(text: str, file: str, message: str, example: str) -> FileProblemsError:
    place = re.search(r"\(at line (\d+), column \d+\)", message)
    lines = text.split("\n")
    line = int(place.group(1)) if place else len(text.rstrip().split("\n"))
    if "integer string conversion" in message:  # Python's limit on digits, told without a place
        line = next((at for at, one in enumerate(lines, 1) if re.search(r"\d{4000}", one)), line)
    given = lines[line - 1][:MAX_GIVEN] if line <= len(lines) else ""
    return _one_problem(file, line, syntax_sentence(message), example=example, given=given)


def _as_json(value: object) -> dict[str, str]:
    return {DATE: str(value)}


def _validation_findings(
    error: ValidationError, model: type[BaseModel], found: Sequence[Finding]
) -> Iterable[Finding]:
    """Pydantic's errors in words, without those that ``check`` has found more exactly."""
    details = error.errors(include_url=False)[:MAX_PROBLEMS]
    paths: list[Path] = [detail["loc"] for detail in details]
    for detail, path in zip(details, paths, strict=True):
        known = any(where[: len(path)] == path for where, _ in found)
        inside = any(len(where) > len(path) and where[: len(path)] == path for where in paths)
        if known and detail["type"] == "value_error":
            continue
        if inside and detail["type"] == "too_short":  # it only counts the entries that are right
            continue
        yield path, sentence_for(cast(Mapping[str, Any], detail), model)


def _problems(
    text: str, file: str, data: Data, findings: Sequence[Finding], examples: Mapping[str, str]
) -> FileProblemsError:
    text = text.removeprefix("\ufeff")
    lines = Lines(text)
    placed = sorted(
        ((lines.line(path), path, sentence) for path, sentence in findings), key=lambda one: one[0]
    )
    problems = tuple(
        FileProblem(line, _field(path, data), sentence)
        for line, path, sentence in placed[:MAX_PROBLEMS]
    )
    first, rest = problems[0], len(problems) - 1
    more = f", and there {'is' if rest == 1 else 'are'} {rest} more to put right" if rest else ""
    names = [key for key in reversed(placed[0][1]) if isinstance(key, str)]
    example = next((examples[name] for name in names if name in examples), examples.get("", ""))
    return FileProblemsError(
        sentence=f"{first.sentence.removesuffix('.')}{more}.",
        example=example,
        given=text.split("\n")[first.line - 1][:MAX_GIVEN],
        file=file,
        line=first.line,
        field=first.field,
        problems=problems,
    )


def _field(path: Path, data: object) -> str:
    """The path with list entries under their own names: "clubs[5-iron].grades[oak].full_yd"."""
    shown = ""
    for key in path:
        if isinstance(key, int):
            entries = cast("list[object]", data) if isinstance(data, list) else []
            data = entries[key] if key < len(entries) else None
            named = cast(Data, data).get("name") if isinstance(data, dict) else None
            shown += f"[{named[:40] if isinstance(named, str) else key + 1}]"
        else:
            data = cast(Data, data).get(key) if isinstance(data, dict) else None
            shown += f".{key[:40]}" if shown else key[:40]
    return shown


def _too_big(file: str, size: int) -> FileProblemsError:
    sentence = f"The file has {size:,} bytes, where at most {MAX_BYTES:,} are read."
    return _one_problem(file, 0, sentence, example="a file of a few thousand bytes")


def _one_problem(
    file: str, line: int, sentence: str, *, example: str, given: str = ""
) -> FileProblemsError:
    return FileProblemsError(
        sentence=sentence,
        example=example,
        given=given,
        file=file,
        line=line,
        problems=(FileProblem(line, "", sentence),),
    )
