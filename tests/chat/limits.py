"""Discord's own limits, held against every body the bot sends; the simulation lets more through.

Source: Discord's developer documentation (github.com/discord/discord-api-docs: components,
application commands, messages, polls, receiving and responding). What stands there no more or was
never written down is marked "from memory". Sizes of files are not in a body and not checked here.

Lengths are counted in UTF-16 units, which is never less than the characters Discord may count.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, cast

import pytest
import simcord

Body = Mapping[str, Any]

COMPONENTS_V2 = 1 << 15
ROW, BUTTON, STRING_SELECT, TEXT_INPUT, TEXT_DISPLAY, LABEL = 1, 2, 3, 4, 10, 18
SELECTS = (3, 5, 6, 7, 8)
WITH_CUSTOM_ID = (*SELECTS, TEXT_INPUT, 19, 21, 22, 23)
LINK_BUTTON, SHOP_BUTTON = 5, 6
SUBCOMMAND, GROUP = 1, 2
SLASH = 1
MESSAGE, DEFERRED, DEFERRED_UPDATE, UPDATE, CHOICES, MODAL = 4, 5, 6, 7, 8, 9
LARGEST_NUMBER = 2**53

CALLBACK = re.compile(r"/interactions/\d+/[^/]+/callback")
SEND = re.compile(r"/(channels/\d+/messages|webhooks/\d+/[^/]+)")
EDIT = re.compile(r"/(channels/\d+|webhooks/\d+/[^/]+)/messages/[^/]+")
THREAD = re.compile(r"/channels/\d+(/messages/\d+)?/threads")
COMMANDS = re.compile(r"/applications/\d+(/guilds/\d+)?/commands(/\d+)?")
NAME = re.compile(r"[-_'\w]{1,32}")


def check_body(method: str, path: str, body: object) -> list[str]:
    """List what Discord would refuse, or this project forbids, in one request's JSON body."""
    if isinstance(body, list) and method == "PUT" and COMMANDS.fullmatch(path):
        commands = cast("list[Body]", body)
        return [*_count("commands", commands, 100), *_each(commands, "command", _command)]
    if not isinstance(body, dict):
        return []
    fields = cast("dict[str, Any]", body)
    if CALLBACK.fullmatch(path):
        return list(_callback(fields))
    if COMMANDS.fullmatch(path) and method in ("POST", "PATCH"):
        return list(_command("command", fields))
    if method == "POST" and SEND.fullmatch(path):
        return list(_sent(fields))
    if method == "PATCH" and EDIT.fullmatch(path):
        return list(_edited(fields, answers=path.endswith("/@original")))
    if method == "POST" and THREAD.fullmatch(path):
        return list(_thread(fields))
    return []


def assert_within_limits(env: simcord.Env) -> None:
    """Fail with every limit that a body of ``env.http_requests`` breaks, and where."""
    broken = [
        f"{request.method} {request.path}: {finding}"
        for request in env.http_requests
        for finding in check_body(request.method, request.path, request.json)
    ]
    assert not broken, "\n".join(broken)


def watch_bodies(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Hold every simulation a test makes to the limits when it ends.

    To be wired as ``pytest.fixture(autouse=True)(watch_bodies)``.
    """
    made: list[simcord.Env] = []
    start = simcord.Env.__init__

    def remember(env: simcord.Env, *args: Any, **options: Any) -> None:
        start(env, *args, **options)
        made.append(env)

    monkeypatch.setattr(simcord.Env, "__init__", remember)
    yield
    for env in made:
        assert_within_limits(env)


# Small checks


def _length(text: str) -> int:
    return len(text.encode("utf-16-le")) // 2


def _text(where: str, value: object, most: int, least: int = 0) -> Iterator[str]:
    if value is None and not least:
        return
    size = _length(value) if isinstance(value, str) else 0
    if not least <= size <= most:
        yield f"{where} has {size} characters, allowed are {least} to {most}"


def _count(where: str, items: Sequence[object], most: int, least: int = 0) -> Iterator[str]:
    if not least <= len(items) <= most:
        yield f"{where}: {len(items)}, allowed are {least} to {most}"


def _unique(where: str, values: Sequence[object]) -> Iterator[str]:
    for value in sorted({str(value) for value in values if values.count(value) > 1}):
        yield f"{where} {value!r} is there more than once"


def _list(value: object) -> "list[Any]":
    return cast("list[Any]", value) if isinstance(value, list) else []


def _each(items: Sequence[Body], where: str, check: Any) -> Iterator[str]:
    for number, item in enumerate(items, 1):
        yield from check(f"{where} {number}", item)


# Answers to interactions


def _callback(body: Body) -> Iterator[str]:
    kind, data = body.get("type"), body.get("data") or {}
    if kind == MESSAGE:
        yield from _sent(data)
    elif kind == UPDATE:
        yield from _edited(data, answers=False)
    elif kind == CHOICES:
        choices = _list(data.get("choices"))
        yield from _count("choices", choices, 25)
        yield from _each(choices, "choice", _choice)
    elif kind == MODAL:
        yield from _modal(data)
    elif kind not in (DEFERRED, DEFERRED_UPDATE):
        yield f"callback type {kind} is unknown"


def _choice(where: str, choice: Body) -> Iterator[str]:
    yield from _text(f"{where} name", choice.get("name"), 100, 1)
    value = choice.get("value")
    if isinstance(value, str):
        yield from _text(f"{where} value", value, 100)
    elif not isinstance(value, int | float) or abs(value) > LARGEST_NUMBER:
        yield f"{where} value is neither text nor a number Discord can hold"


def _whole(where: str, value: object) -> Iterator[str]:
    """Nothing in a form is cut: it could not be read anywhere else."""
    if isinstance(value, str) and value.endswith("…"):
        yield f"{where} is cut: {value}"


def _modal(data: Body) -> Iterator[str]:
    yield from _whole("modal title", data.get("title"))
    for part in _list(data.get("components")):
        field: Body = part.get("component") or {}
        for name, value in (*part.items(), *field.items()):
            if name in ("label", "description", "placeholder"):
                yield from _whole(f"modal {name}", value)
    yield from _text("modal title", data.get("title"), 45, 1)
    yield from _text("modal custom_id", data.get("custom_id"), 100, 1)
    parts = _list(data.get("components"))
    yield from _count("modal components", parts, 5, 1)
    for number, part in enumerate(parts, 1):
        where = f"modal component {number}"
        if part.get("type") == LABEL:
            yield from _text(f"{where} label", part.get("label"), 45, 1)
            yield from _text(f"{where} description", part.get("description"), 100)
        elif part.get("type") == ROW:
            for field in _list(part.get("components")):
                yield from _text(f"{where} label", field.get("label"), 45, 1)
        elif part.get("type") != TEXT_DISPLAY:
            yield f"{where} has type {part.get('type')}, which cannot stand there"
    yield from _components(parts)


# Messages


def _sent(body: Body) -> Iterator[str]:
    parts = ("content", "embeds", "components", "poll", "attachments", "sticker_ids")
    if not any(body.get(part) for part in parts):
        yield "the message is empty"
    yield from _mentions(body, needed=True)
    yield from _message(body)
    if body.get("poll"):
        yield from _poll(body["poll"])


def _edited(body: Body, *, answers: bool) -> Iterator[str]:
    """Check an edit; one that ``answers`` fills in a deferred answer, which counts as sending."""
    yield from _mentions(body, needed=answers)
    yield from _message(body)
    if body.get("poll"):
        yield "a poll cannot be edited in"


def _mentions(body: Body, *, needed: bool) -> Iterator[str]:
    allowed = body.get("allowed_mentions")
    if allowed is None:
        if needed:
            yield "allowed_mentions is missing"
    elif allowed.get("parse") != [] or any(
        allowed.get(kind) for kind in ("users", "roles", "replied_user")
    ):
        yield f"allowed_mentions lets somebody be mentioned: {allowed}"


def _message(body: Body) -> Iterator[str]:
    components = _list(body.get("components"))
    yield from _text("content", body.get("content"), 2000)
    yield from _embeds(_list(body.get("embeds")))
    yield from _count("attachments", _list(body.get("attachments")), 10)
    if (body.get("flags") or 0) & COMPONENTS_V2:
        for part in ("content", "embeds", "poll"):
            if body.get(part):
                yield f"a message of components has {part}"
        everything = list(_walk(components))
        yield from _count("components", everything, 40)
        written = "".join(str(part.get("content") or "") for part in everything)
        yield from _text("text of all components", written, 4000)  # from memory
    else:
        yield from _count("component rows", components, 5)
        for part in components:
            if part.get("type") != ROW:
                yield f"component type {part.get('type')} stands outside a row"
    yield from _components(components)


def _embeds(embeds: Sequence[Body]) -> Iterator[str]:
    yield from _count("embeds", embeds, 10)
    total = 0
    for number, embed in enumerate(embeds, 1):
        where = f"embed {number}"
        fields = _list(embed.get("fields"))
        footer = (embed.get("footer") or {}).get("text")
        author = (embed.get("author") or {}).get("name")
        yield from _text(f"{where} title", embed.get("title"), 256)
        yield from _text(f"{where} description", embed.get("description"), 4096)
        yield from _text(f"{where} footer", footer, 2048)
        yield from _text(f"{where} author", author, 256)
        yield from _count(f"{where} fields", fields, 25)
        for place, field in enumerate(fields, 1):
            yield from _text(f"{where} field {place} name", field.get("name"), 256, 1)
            yield from _text(f"{where} field {place} value", field.get("value"), 1024, 1)
        texts = [embed.get("title"), embed.get("description"), footer, author]
        texts += [field.get(part) for field in fields for part in ("name", "value")]
        total += sum(_length(text) for text in texts if isinstance(text, str))
    if total > 6000:
        yield f"embeds have {total} characters in all, allowed are 6000"


def _poll(poll: Body) -> Iterator[str]:
    yield from _text("poll question", (poll.get("question") or {}).get("text"), 300, 1)
    answers = _list(poll.get("answers"))
    yield from _count("poll answers", answers, 10, 1)
    for number, answer in enumerate(answers, 1):
        text = (answer.get("poll_media") or {}).get("text")
        yield from _text(f"poll answer {number}", text, 55, 1)
    hours = poll.get("duration", 24)
    if hours not in range(1, 32 * 24 + 1):
        yield f"the poll is open for {hours} hours, allowed are whole ones from 1 to {32 * 24}"


def _thread(body: Body) -> Iterator[str]:
    yield from _text("thread name", body.get("name"), 100, 1)
    if isinstance(body.get("message"), dict):
        yield from _sent(body["message"])


# Components


def _walk(components: Sequence[Body]) -> Iterator[Body]:
    for component in components:
        yield component
        yield from _walk(_list(component.get("components")))
        inner = [component.get(part) for part in ("component", "accessory")]
        yield from _walk([part for part in inner if isinstance(part, dict)])


def _components(components: Sequence[Body]) -> Iterator[str]:
    everything = list(_walk(components))
    ids = [part["custom_id"] for part in everything if part.get("custom_id") is not None]
    yield from _unique("custom_id", ids)
    for part in everything:
        kind = part.get("type")
        if kind == ROW:
            yield from _row(_list(part.get("components")))
        elif kind == BUTTON:
            yield from _button(part)
        elif kind in WITH_CUSTOM_ID:
            yield from _text("custom_id", part.get("custom_id"), 100, 1)
        if kind in SELECTS:
            yield from _select(part)
        elif kind == TEXT_INPUT:
            yield from _text_input(part)


def _row(parts: Sequence[Body]) -> Iterator[str]:
    yield from _count("components in a row", parts, 5, 1)
    if len(parts) > 1 and any(part.get("type") != BUTTON for part in parts):
        yield "a row holds something beside its select or input"


def _button(button: Body) -> Iterator[str]:
    yield from _text("button label", button.get("label"), 80)
    style = button.get("style")
    if not button.get("label") and not button.get("emoji") and style != SHOP_BUTTON:
        yield "a button has neither label nor emoji"
    if style == LINK_BUTTON:
        yield from _text("button url", button.get("url"), 512, 1)
    elif style != SHOP_BUTTON:
        yield from _text("custom_id", button.get("custom_id"), 100, 1)


def _select(select: Body) -> Iterator[str]:
    yield from _text("select placeholder", select.get("placeholder"), 150)
    if select.get("type") == STRING_SELECT:
        options = _list(select.get("options"))
        yield from _count("select options", options, 25, 1)
        yield from _unique("select value", [option.get("value") for option in options])
        for option in options:
            yield from _text("select option label", option.get("label"), 100, 1)
            yield from _text("select option value", option.get("value"), 100, 1)
            yield from _text("select option description", option.get("description"), 100)
    least, most = select.get("min_values", 1), select.get("max_values", 1)
    if not 0 <= least <= most <= 25 or most < 1:
        yield f"a select asks for {least} to {most} values"


def _text_input(field: Body) -> Iterator[str]:
    yield from _text("input placeholder", field.get("placeholder"), 100)
    yield from _text("input value", field.get("value"), 4000)
    least, most = field.get("min_length") or 0, field.get("max_length", 4000)
    if not 0 <= least <= most <= 4000 or most < 1:
        yield f"an input asks for {least} to {most} characters"


# Commands


def _command(where: str, command: Body) -> Iterator[str]:
    if command.get("type", SLASH) == SLASH:
        yield from _named(where, command)
        yield from _options(where, _list(command.get("options")))
        size = _command_size(command)
        if size > 8000:
            yield f"{where} has {size} characters in all, allowed are 8000"
    else:
        yield from _text(f"{where} name", command.get("name"), 32, 1)
        yield from _text(f"{where} description", command.get("description"), 0)


def _named(where: str, item: Body) -> Iterator[str]:
    name = str(item.get("name"))
    if not NAME.fullmatch(name) or name != name.lower():
        yield f"{where} name {name!r} is not 1 to 32 lower-case letters, digits, - or _"
    yield from _text(f"{where} description", item.get("description"), 100, 1)


def _options(where: str, options: Sequence[Body]) -> Iterator[str]:
    yield from _count(f"{where} options", options, 25)
    yield from _unique(f"{where} option", [option.get("name") for option in options])
    needed = [bool(option.get("required")) for option in options]
    if needed != sorted(needed, reverse=True):
        yield f"{where} has a required option after one that is not"
    for number, option in enumerate(options, 1):
        place = f"{where} option {number}"
        choices = _list(option.get("choices"))
        yield from _named(place, option)
        yield from _count(f"{place} choices", choices, 25)
        yield from _each(choices, f"{place} choice", _choice)
        # from memory
        yield from _unique(f"{place} choice", [choice.get("name") for choice in choices])
        if choices and option.get("autocomplete"):
            yield f"{place} has both choices and autocomplete"
        if option.get("type") in (SUBCOMMAND, GROUP):
            yield from _options(place, _list(option.get("options")))


def _command_size(item: Body) -> int:
    texts = [item.get(part) for part in ("name", "description", "value")]
    inner = [*_list(item.get("options")), *_list(item.get("choices"))]
    own = sum(_length(text) for text in texts if isinstance(text, str))
    return own + sum(_command_size(part) for part in inner)
