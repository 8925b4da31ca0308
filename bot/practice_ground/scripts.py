"""Two corrections to the page's scripts.

After a suggestion is taken, Enter sends: taking one gives the focus back to its field, and a field
that has the focus shows its suggestions again, so that Enter would take the first of them for ever
and nothing could be sent without a mouse. With the correction the list stays closed once nothing
required is left to fill.

A menu shows what its message says is chosen: the page remembers a menu's choice by its place and
would go on showing it when the message is changed to say another, where Discord's own apps take
the message's word.
"""

from collections.abc import Awaitable, Callable
from typing import Any

SCRIPT = "/commands.js"
TAKEN = "renderCompose({ focus: Boolean(next) });"
CLOSED = f"{TAKEN} if (!next) clearPopup();"

MENUS = "/selects.js"
REMEMBERED = "  const draft = draftValue(key);\n"
SAID = """  const said = JSON.stringify(optionDefaults(entries));
  const saidBefore = (globalThis.saidByMessages ??= new Map());
  if (component.type === TYPE.STRING_SELECT && saidBefore.get(key) !== said) {
    if (saidBefore.has(key)) options.onReconcileDraft?.(key, optionDefaults(entries));
    saidBefore.set(key, said);
  }
"""

CORRECTIONS = {SCRIPT: (TAKEN, CLOSED), MENUS: (REMEMBERED, SAID + REMEMBERED)}

Serve = Callable[[Any], Awaitable[Any]]


def corrected(script: str, path: str = SCRIPT) -> str:
    """The script of a path, corrected; unchanged where it is another script than we know."""
    before, after = CORRECTIONS.get(path, ("", ""))
    return script.replace(before, after) if before and script.count(before) == 1 else script


def correcting(serve: Serve) -> Serve:
    """Wrap what serves the page's files (an aiohttp handler)."""

    async def served(request: Any) -> Any:
        response = await serve(request)
        if request.path in CORRECTIONS:
            response.text = corrected(response.text, request.path)
        return response

    return served
