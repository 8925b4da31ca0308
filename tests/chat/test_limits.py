"""Every limit trips just beyond its edge and not on it; what the stand-in bot sends passes."""

from collections.abc import Callable
from typing import Any

import discord
import pytest
import simcord
from discord import app_commands

from tests.chat.full_bodies import (
    SILENT,
    Body,
    button,
    cards,
    choices,
    commands,
    message,
    modal,
    poll,
    select,
    thread,
)
from tests.chat.limits import assert_within_limits, check_body, watch_bodies
from tests.chat.stand_in import StandIn

Change = Callable[[Body], object]

CALLBACK = "/interactions/7/some_token/callback"
CHANNEL = "/channels/7/messages"
FOLLOWUP = "/webhooks/7/some_token"
COMMANDS = "/applications/7/commands"


def answered(body: Body) -> Body:
    return {"type": 4, "data": body}


@pytest.mark.parametrize(
    ("method", "path", "body"),
    [
        ("POST", CHANNEL, message()),
        ("POST", FOLLOWUP, message()),
        ("POST", CALLBACK, answered(message())),
        ("POST", CALLBACK, {"type": 7, "data": message()}),
        ("POST", CALLBACK, {"type": 7, "data": {"components": []}}),
        ("PATCH", CHANNEL + "/9", message()),
        ("PATCH", CHANNEL + "/9", {"content": "no mention setting on an edit"}),
        ("PATCH", FOLLOWUP + "/messages/@original", message()),
        ("POST", CHANNEL, poll()),
        ("POST", CHANNEL, cards()),
        ("POST", CALLBACK, {"type": 5}),
        ("POST", CALLBACK, {"type": 6}),
        ("POST", CALLBACK, choices()),
        ("POST", CALLBACK, {"type": 8, "data": {"choices": []}}),
        ("POST", CALLBACK, modal()),
        ("PUT", COMMANDS, commands()),
        ("PUT", "/applications/7/guilds/8/commands", commands()),
        ("POST", COMMANDS, commands()[0]),
        ("PATCH", COMMANDS + "/9", commands()[1]),
        ("POST", "/channels/7/threads", thread()),
        ("GET", CHANNEL, None),
        ("POST", "/channels/7/typing", None),
        ("PUT", "/channels/7/permissions/9", {"content": "c" * 9000}),
    ],
)
def test_what_is_at_its_limit_passes(method: str, path: str, body: object) -> None:
    assert check_body(method, path, body) == []


def test_the_embeds_at_the_limit_have_6000_characters_and_the_command_8000() -> None:
    """Keep the two sums above from drifting below their edges."""
    body = message()
    body["embeds"][-1]["fields"][0]["value"] += "v"
    assert check_body("POST", CHANNEL, body) == [
        "embeds have 6001 characters in all, allowed are 6000"
    ]
    command = commands()[0]
    command["description"] += "d"
    assert check_body("POST", COMMANDS, command) == [
        "command has 8001 characters in all, allowed are 8000"
    ]


def put(*way: str | int, to: object) -> Change:
    """Change the value at the end of a way of keys and places."""

    def change(body: Any) -> None:
        for step in way[:-1]:
            body = body[step]
        body[way[-1]] = to

    return change


def drop(*way: str | int) -> Change:
    def change(body: Any) -> None:
        for step in way[:-1]:
            body = body[step]
        del body[way[-1]]

    return change


def add(*way: str | int, item: object) -> Change:
    def change(body: Any) -> None:
        for step in way:
            body = body[step]
        body.append(item)

    return change


FIRST_BUTTON = ("components", 0, "components", 0)
THE_SELECT = ("components", 4, "components", 0)

MESSAGE_CASES: list[tuple[Change, str]] = [
    (put("content", to="c" * 2001), "content has 2001 characters"),
    (put("content", to="🏌" * 1001), "content has 2002 characters"),
    (add("embeds", item={"title": ""}), "embeds: 11"),
    (put("embeds", 1, "title", to="t" * 257), "embed 2 title has 257"),
    (put("embeds", to=[{"description": "d" * 4097}]), "embed 1 description has 4097"),
    (put("embeds", 1, "footer", "text", to="f" * 2049), "embed 2 footer has 2049"),
    (put("embeds", 1, "author", "name", to="a" * 257), "embed 2 author has 257"),
    (add("embeds", 0, "fields", item={"name": "n", "value": "v"}), "embed 1 fields: 26"),
    (put("embeds", 0, "fields", 3, "name", to="n" * 257), "field 4 name has 257"),
    (put("embeds", 0, "fields", 3, "value", to="v" * 1025), "field 4 value has 1025"),
    (put("embeds", 0, "fields", 3, "name", to=""), "field 4 name has 0"),
    (drop("embeds", 0, "fields", 3, "value"), "field 4 value has 0"),
    (add("attachments", item={"id": 10}), "attachments: 11"),
    (drop("allowed_mentions"), "allowed_mentions is missing"),
    (put("allowed_mentions", to={"parse": ["users"]}), "lets somebody be mentioned"),
    (put("allowed_mentions", to={}), "lets somebody be mentioned"),
    (put("allowed_mentions", "users", to=["12"]), "lets somebody be mentioned"),
    (put("allowed_mentions", "roles", to=["12"]), "lets somebody be mentioned"),
    (put("allowed_mentions", "replied_user", to=True), "lets somebody be mentioned"),
    (add("components", item={"type": 1, "components": [select(9)]}), "component rows: 6"),
    (put("components", 0, to=button(0)), "component type 2 stands outside a row"),
    (add("components", 0, "components", item=button(99)), "components in a row: 6"),
    (put("components", 0, "components", to=[]), "components in a row: 0"),
    (put(*FIRST_BUTTON, to=select(3)), "a row holds something beside its select"),
    (put(*FIRST_BUTTON, "custom_id", to="c" * 101), "custom_id has 101"),
    (put(*FIRST_BUTTON, "custom_id", to=""), "custom_id has 0"),
    (drop(*FIRST_BUTTON, "custom_id"), "custom_id has 0"),
    (put(*FIRST_BUTTON, "custom_id", to="s1"), "custom_id 's1' is there more than once"),
    (put(*FIRST_BUTTON, "label", to="b" * 81), "button label has 81"),
    (drop(*FIRST_BUTTON, "label"), "a button has neither label nor emoji"),
    (put(*FIRST_BUTTON, to={"type": 2, "style": 5, "label": "go"}), "button url has 0"),
    (put(*THE_SELECT, "custom_id", to="c" * 101), "custom_id has 101"),
    (put(*THE_SELECT, "placeholder", to="p" * 151), "select placeholder has 151"),
    (put(*THE_SELECT, "options", to=[]), "select options: 0"),
    (add(*THE_SELECT, "options", item={"label": "l", "value": "v"}), "select options: 26"),
    (put(*THE_SELECT, "options", 2, "label", to="l" * 101), "select option label has 101"),
    (put(*THE_SELECT, "options", 2, "value", to="v" * 101), "select option value has 101"),
    (put(*THE_SELECT, "options", 2, "value", to=""), "select option value has 0"),
    (put(*THE_SELECT, "options", 2, "description", to="d" * 101), "option description has 101"),
    (put(*THE_SELECT, "options", 2, "value", to=f"{0:0100}"), "is there more than once"),
    (put(*THE_SELECT, "max_values", to=26), "a select asks for 0 to 26 values"),
    (put(*THE_SELECT, "max_values", to=0), "a select asks for 0 to 0 values"),
    (put(*THE_SELECT, "min_values", to=26), "a select asks for 26 to 25 values"),
]

POLL_CASES: list[tuple[Change, str]] = [
    (put("poll", "question", "text", to="q" * 301), "poll question has 301"),
    (put("poll", "question", "text", to=""), "poll question has 0"),
    (add("poll", "answers", item={"poll_media": {"text": "a"}}), "poll answers: 11"),
    (put("poll", "answers", to=[]), "poll answers: 0"),
    (put("poll", "answers", 6, "poll_media", "text", to="a" * 56), "poll answer 7 has 56"),
    (put("poll", "answers", 6, "poll_media", to={}), "poll answer 7 has 0"),
    (put("poll", "duration", to=769), "open for 769 hours"),
    (put("poll", "duration", to=0.5), "open for 0.5 hours"),
    (put("poll", "duration", to=1.5), "open for 1.5 hours"),
]

CARD_CASES: list[tuple[Change, str]] = [
    (add("components", item={"type": 14}), "components: 41"),
    (put("content", to="beside"), "a message of components has content"),
    (put("embeds", to=[{"title": "t"}]), "a message of components has embeds"),
    (put("poll", to=poll()["poll"]), "a message of components has poll"),
    (put("components", 0, "components", 0, "content", to="t" * 501), "all components has 4002"),
    (put("components", 0, "components", 36, "accessory", "custom_id", to=""), "custom_id has 0"),
]

MODAL_PARTS = ("data", "components")
MODAL_FIELD = (*MODAL_PARTS, 0, "component")
MODAL_CASES: list[tuple[Change, str]] = [
    (put("data", "title", to="t" * 46), "modal title has 46"),
    (put("data", "title", to=""), "modal title has 0"),
    (put("data", "custom_id", to="m" * 101), "modal custom_id has 101"),
    (put("data", "custom_id", to=""), "modal custom_id has 0"),
    (add(*MODAL_PARTS, item={"type": 10, "content": "t"}), "modal components: 6"),
    (put(*MODAL_PARTS, to=[]), "modal components: 0"),
    (put(*MODAL_PARTS, 0, "label", to="l" * 46), "modal component 1 label has 46"),
    (put(*MODAL_PARTS, 0, "description", to="d" * 101), "modal component 1 description has 101"),
    (put(*MODAL_PARTS, 1, "components", 0, "label", to="l" * 46), "component 2 label has 46"),
    (put(*MODAL_PARTS, 2, to={"type": 14}), "modal component 3 has type 14"),
    (put(*MODAL_FIELD, "placeholder", to="p" * 101), "input placeholder has 101"),
    (put(*MODAL_FIELD, "value", to="v" * 4001), "input value has 4001"),
    (put(*MODAL_FIELD, "max_length", to=4001), "an input asks for 0 to 4001"),
    (put(*MODAL_FIELD, "max_length", to=0), "an input asks for 0 to 0"),
    (put(*MODAL_FIELD, "min_length", to=-1), "an input asks for -1 to 4000"),
    (put(*MODAL_FIELD, "custom_id", to="c" * 101), "custom_id has 101"),
    (put(*MODAL_FIELD, "custom_id", to="club"), "custom_id 'club' is there more than once"),
    (put(*MODAL_PARTS, 4, "component", "custom_id", to=""), "custom_id has 0"),
]

CHOICE = ("data", "choices", 3)
CHOICE_CASES: list[tuple[Change, str]] = [
    (add("data", "choices", item={"name": "n", "value": "v"}), "choices: 26"),
    (put(*CHOICE, "name", to="n" * 101), "choice 4 name has 101"),
    (put(*CHOICE, "name", to=""), "choice 4 name has 0"),
    (put(*CHOICE, "value", to="v" * 101), "choice 4 value has 101"),
    (put(*CHOICE, "value", to=2**53 + 1), "choice 4 value is neither"),
    (put(*CHOICE, "value", to=None), "choice 4 value is neither"),
    (put("type", to=99), "callback type 99 is unknown"),
]

OPTION = (0, "options", 3)
COMMAND_CASES: list[tuple[Change, str]] = [
    (add(item={"type": 1, "name": "one-more", "description": "d"}), "commands: 101"),
    (put(3, "name", to="n" * 33), "is not 1 to 32 lower-case"),
    (put(3, "name", to="Wind"), "command 4 name 'Wind' is not"),
    (put(3, "name", to="two words"), "command 4 name 'two words' is not"),
    (put(3, "description", to="d" * 101), "command 4 description has 101"),
    (put(3, "description", to=""), "command 4 description has 0"),
    (put(2, "name", to="n" * 33), "command 3 name has 33"),
    (put(2, "description", to="not on a menu"), "command 3 description has 13"),
    (put(*OPTION, "name", to="Gap"), "command 1 option 4 name 'Gap' is not"),
    (put(*OPTION, "description", to=""), "command 1 option 4 description has 0"),
    (put(*OPTION, "required", to=True), "command 1 has a required option after one that is not"),
    (put(*OPTION, "name", to="last"), "command 1 option 'last' is there more than once"),
    (put(*OPTION, "autocomplete", to=True), "option 4 has both choices and autocomplete"),
    (add(*OPTION, "choices", item={"name": "n", "value": "v"}), "option 4 choices: 26"),
    (put(*OPTION, "choices", 1, "name", to=""), "option 4 choice 2 name has 0"),
    (put(*OPTION, "choices", 1, "name", to=f"{0:06}"), "choice '000000' is there more than once"),
    (put(3, "options", to=commands()[0]["options"][2:13] * 3), "command 4 options: 33"),
    (put(1, "options", 0, "options", 1, "name", to="No"), "command 2 option 1 option 2 name 'No'"),
]

THREAD_CASES: list[tuple[Change, str]] = [
    (put("name", to="n" * 101), "thread name has 101"),
    (put("name", to=""), "thread name has 0"),
    (drop("message", "allowed_mentions"), "allowed_mentions is missing"),
]


@pytest.mark.parametrize(
    ("path", "make", "change", "expected"),
    [
        *((CHANNEL, message, *case) for case in MESSAGE_CASES),
        *((FOLLOWUP, poll, *case) for case in POLL_CASES),
        *((CHANNEL, cards, *case) for case in CARD_CASES),
        *((CALLBACK, modal, *case) for case in MODAL_CASES),
        *((CALLBACK, choices, *case) for case in CHOICE_CASES),
        *(("/channels/7/threads", thread, *case) for case in THREAD_CASES),
    ],
)
def test_what_is_beyond_its_limit_is_found(
    path: str, make: Callable[[], Body], change: Change, expected: str
) -> None:
    body = make()
    change(body)
    assert any(expected in finding for finding in check_body("POST", path, body))


@pytest.mark.parametrize(("change", "expected"), COMMAND_CASES)
def test_what_is_beyond_a_command_s_limit_is_found(change: Any, expected: str) -> None:
    body = commands()
    change(body)
    assert any(expected in finding for finding in check_body("PUT", COMMANDS, body))


@pytest.mark.parametrize(
    ("method", "path", "wrap"),
    [
        ("POST", CALLBACK, answered),
        ("POST", CALLBACK, lambda body: {"type": 7, "data": body}),
        ("POST", FOLLOWUP, lambda body: body),
        ("PATCH", FOLLOWUP + "/messages/@original", lambda body: body),
        ("PATCH", CHANNEL + "/9", lambda body: body),
    ],
)
def test_a_message_is_held_to_its_limits_whichever_way_it_is_sent(
    method: str, path: str, wrap: Callable[[Body], Body]
) -> None:
    body = message() | {"content": "c" * 2001}
    assert check_body(method, path, wrap(body)) == [
        "content has 2001 characters, allowed are 0 to 2000"
    ]


def test_an_empty_message_a_poll_in_an_edit_and_a_loud_edit_are_found() -> None:
    assert check_body("POST", CHANNEL, {"allowed_mentions": SILENT}) == ["the message is empty"]
    assert check_body("PATCH", CHANNEL + "/9", poll()) == ["a poll cannot be edited in"]
    loud = {"content": "hello", "allowed_mentions": {"parse": ["everyone"]}}
    assert len(check_body("PATCH", CHANNEL + "/9", loud)) == 1
    late = {"content": "the answer"}
    assert check_body("PATCH", FOLLOWUP + "/messages/@original", late) == [
        "allowed_mentions is missing"
    ]


class TooMuch(StandIn):
    """Offers one suggestion too many."""

    def add_commands(self) -> None:
        @self.tree.command(description="Offer everything")
        async def offer(interaction: discord.Interaction, what: str) -> None:
            await interaction.response.send_message(what)

        @offer.autocomplete("what")
        async def all_of_it(_: discord.Interaction, typed: str) -> list[app_commands.Choice[str]]:
            return [app_commands.Choice(name=f"{typed}{n}", value=typed) for n in range(26)]

        del all_of_it


async def test_a_whole_conversation_is_held_to_the_limits(monkeypatch: pytest.MonkeyPatch) -> None:
    watching = watch_bodies(monkeypatch)
    next(watching)
    async with simcord.run(StandIn(), settle_timeout=60) as env:
        channel = env.create_guild().create_text_channel("wind-questions")
        member = env.guild.add_member(env.create_user("tamsin"))
        await member.autocomplete(channel, "cup", "name", "b")
        shown = await member.slash(channel, "cup", name="Birch")
        assert shown.response is not None
        await member.click(shown.response, label="Log a miss")
        await member.slash(channel, "ballot")
    assert len([sent for sent in env.http_requests if sent.json]) >= 5
    with pytest.raises(StopIteration):
        next(watching)


async def test_one_body_beyond_the_limits_fails_the_test(monkeypatch: pytest.MonkeyPatch) -> None:
    watching = watch_bodies(monkeypatch)
    next(watching)
    async with simcord.run(TooMuch(), settle_timeout=60) as env:
        channel = env.create_guild().create_text_channel("wind-questions")
        member = env.guild.add_member(env.create_user("tamsin"))
        await member.autocomplete(channel, "offer", "what", "b")
    with pytest.raises(AssertionError, match=r"POST /interactions/.*: choices: 26"):
        next(watching)
    with pytest.raises(AssertionError, match="choices: 26"):
        assert_within_limits(env)
    env.http_requests.clear()  # this suite watches every simulation, this one too
