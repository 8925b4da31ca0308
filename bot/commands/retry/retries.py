"""A refused text is not lost: a press on what was meant, or a form with what was typed in it.

What was typed is kept in memory for a while, by a token that stands in the buttons.
"""

from collections import OrderedDict
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar

import discord
from discord import app_commands

from bot.chat.forms import OPENS_FORM, Form
from bot.chat.message import view_of
from bot.chat.respond import ANEW, CHOSEN, TYPED, Interaction, chosen, typed
from bot.chat.router import Router
from bot.chat.written import FIELDS, Fields
from bot.services.actions import AGAIN, Action, ChooseDivision, FormAction, Labels
from shared import limits
from shared.errors import DivisionUnknownError, EngineError, InputError, LeewardError, ShotTextError

KEPT = 500  # refusals; who comes back later types it anew
MOST_FIELDS = 5  # of a form
MOST_SHORT = 300  # characters of a field of one line
HELD = "held"  # in an interaction's extras: what it asks anew

Texts = dict[str, str]
Run = Callable[[Interaction, Texts], Awaitable[None]]


@dataclass(frozen=True)
class Retry(Action):
    """Open the form again (``which`` is 0), or take the suggestion of that number."""

    name = "retry"
    sign = ":"
    which: int
    token: int


@dataclass(frozen=True)
class RetryForm(FormAction):
    """The form of a text that was refused; its fields are those of what was asked."""

    name: ClassVar[str] = "retryform"
    sign: ClassVar[str] = ":"
    labels: ClassVar[Labels] = {}
    token: int


@dataclass(frozen=True)
class Refused:
    """What a member typed, field by field, how it is answered, and what may be meant instead.

    ``opens_form``: the answer is a form, which can follow a press but not another form.
    """

    member_id: int
    title: str
    fields: Texts
    run: Run
    meant: tuple[Texts, ...] = ()
    opens_form: bool = False
    named: Fields = field(default_factory=Fields)
    chosen: dict[str, tuple[str, ...]] = field(default_factory=dict[str, tuple[str, ...]])

    def takes_rows(self, name: str, text: str) -> bool:
        """Whether a field is shown with room for many rows."""
        return name in self.named.many or "\n" in text or len(text) > MOST_SHORT


class Retries:
    """The texts refused lately."""

    def __init__(self, router: Router) -> None:
        self._router = router
        self._kept: OrderedDict[int, Refused] = OrderedDict()
        router.on(Retry.name, self._pressed)
        router.on(RetryForm.name, self._filled)

    def offer(self, interaction: Interaction, error: LeewardError) -> discord.ui.View | None:
        """Buttons for a refusal; None where nothing that was typed could mend it."""
        if not isinstance(error, InputError | EngineError):
            return None
        refused = self._refused(interaction)
        if isinstance(error, DivisionUnknownError):
            return self._divisions(interaction.id, refused, error)
        if refused is None or not any(refused.fields.values()):
            return None
        return self.keep(interaction.id, refused, error)

    def offer_text(
        self, token: int, *, member_id: int, text: str, run: Run, error: LeewardError
    ) -> discord.ui.View | None:
        """Buttons for a message that was refused."""
        if not isinstance(error, InputError | EngineError) or not text.strip():
            return None
        refused = Refused(member_id, "Change it", {"question": text.strip()}, run)
        return self.keep(token, refused, error)

    def keep(self, token: int, refused: Refused, error: LeewardError) -> discord.ui.View | None:
        """Buttons for a refused text, which is kept by ``token``."""
        found = error.suggestions if isinstance(error, ShotTextError) else ()
        given = error.given if isinstance(error, InputError) else ""
        pairs = [(text, _put(refused.fields, given, text)) for text in found]
        meant = [(text, fields) for text, fields in pairs if fields is not None]
        everything = tuple(fields for _, fields in meant)
        self._keep(token, replace(refused, meant=everything))
        buttons = [
            Retry(number, token).button(_label(text), "primary")
            for number, (text, _) in enumerate(meant, start=1)
        ]
        if not refused.opens_form:
            buttons.append(Retry(0, token).button("Change it"))
        return view_of(buttons) if buttons else None

    def _divisions(
        self, token: int, refused: Refused | None, error: DivisionUnknownError
    ) -> discord.ui.View:
        """The divisions as buttons; what was asked goes on with the one that is pressed."""
        if refused is not None:
            self._keep(token, refused)
        return view_of(
            ChooseDivision.each(error.divisions, then=AGAIN, hole=token, event=error.event)
        )

    async def again(self, interaction: Interaction, token: int) -> bool:
        """Ask once more what was refused by this token; False where it is kept no more."""
        refused = self._kept.get(token)
        if refused is None or refused.member_id != interaction.user.id:
            return False
        await _again(interaction, refused, refused.fields)
        return True

    def _keep(self, token: int, refused: Refused) -> None:
        self._kept[token] = refused
        while len(self._kept) > KEPT:
            self._kept.popitem(last=False)

    def _refused(self, interaction: Interaction) -> Refused | None:
        held: Refused | None = interaction.extras.get(HELD)
        if held is not None:
            return held
        command = interaction.command
        if isinstance(command, app_commands.Command):
            given = dict(vars(interaction.namespace))
            texts = {name: value for name, value in given.items() if isinstance(value, str)}
            run = _of_command(command, given)
            return Refused(
                interaction.user.id,
                f"/{command.qualified_name}",
                texts,
                run,
                opens_form=bool(command.extras.get(OPENS_FORM)),
            )
        if interaction.type is not discord.InteractionType.modal_submit:
            return None
        custom_id = str((interaction.data or {}).get("custom_id", ""))

        async def answered(again: Interaction, fields: Texts) -> None:
            await self._router.route(again, custom_id)

        named, picked = interaction.extras.get(FIELDS) or Fields(), chosen(interaction)
        return Refused(
            interaction.user.id,
            "Change it",
            typed(interaction),
            answered,
            named=named,
            chosen=picked,
        )

    async def _pressed(self, interaction: Interaction, custom_id: str) -> None:
        asked = Retry.read(custom_id)
        refused = self._of(interaction, asked.token)
        if 0 < asked.which <= len(refused.meant):
            await _again(interaction, refused, refused.meant[asked.which - 1])
            return
        fields = dict(list(refused.fields.items())[:MOST_FIELDS])
        many = {name for name, text in fields.items() if refused.takes_rows(name, text)}
        labels = {name: refused.named.labels.get(name, name.capitalize()) for name in fields}
        form = Form(refused.title, RetryForm(asked.token), labels, many)
        for name, text in fields.items():
            most = limits.FORM_TEXT if name in many else MOST_SHORT
            form.ask(name, value=text, most=most)
        await interaction.response.send_modal(form)

    async def _filled(self, interaction: Interaction, custom_id: str) -> None:
        refused = self._of(interaction, RetryForm.read(custom_id).token)
        await _again(interaction, refused, refused.fields | typed(interaction))

    def _of(self, interaction: Interaction, token: int) -> Refused:
        refused = self._kept.get(token)
        if refused is None:
            raise InputError("What you typed is not kept any more; please ask anew.", "/help")
        if refused.member_id != interaction.user.id:
            raise InputError("Only who typed this can change it.", "/wind")
        return refused


async def _again(interaction: Interaction, refused: Refused, fields: Texts) -> None:
    """Answer other texts; if they are refused too, it is they that come back."""
    interaction.extras[HELD] = replace(refused, fields=fields)
    interaction.extras[TYPED] = fields
    interaction.extras[CHOSEN] = refused.chosen
    interaction.extras.pop(FIELDS, None)
    if refused.named.labels:
        interaction.extras[FIELDS] = refused.named
    await refused.run(interaction, fields)


def _of_command(command: app_commands.Command[Any, ..., Any], given: Mapping[str, object]) -> Run:
    """Runs a command once more with other texts among its options."""

    async def answered(interaction: Interaction, fields: Texts) -> None:
        interaction.extras[ANEW] = command
        for check in command.checks:  # what was allowed then may be so no longer
            if not await discord.utils.maybe_coroutine(check, interaction):
                raise app_commands.CheckFailure
        before = (command.binding,) if command.binding is not None else ()
        await command.callback(*before, interaction, **{**given, **fields})

    return answered


def _put(fields: Texts, given: str, text: str) -> Texts | None:
    """The fields with ``text`` for ``given``; None where that stands in none of them."""
    said = given.strip()
    for name, value in fields.items():
        if said and said in value:
            return {**fields, name: value.replace(said, text, 1)}
    return None


def _label(text: str) -> str:
    return text if len(text) <= limits.BUTTON else f"{text[: limits.BUTTON - 1]}…"
