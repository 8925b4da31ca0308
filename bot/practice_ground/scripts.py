"""One correction to the page's scripts: after a suggestion is taken, Enter sends.

Taking a suggestion gives the focus back to its field, and a field that has the focus shows its
suggestions again: Enter would take the first of them for ever and nothing could be sent without a
mouse. With the correction the list stays closed once nothing required is left to fill.
"""

from collections.abc import Awaitable, Callable
from typing import Any

SCRIPT = "/commands.js"
TAKEN = "renderCompose({ focus: Boolean(next) });"
CLOSED = f"{TAKEN} if (!next) clearPopup();"

Serve = Callable[[Any], Awaitable[Any]]


def corrected(script: str) -> str:
    """The script with the list closed after a choice; unchanged where it is another script."""
    return script.replace(TAKEN, CLOSED) if script.count(TAKEN) == 1 else script


def correcting(serve: Serve) -> Serve:
    """Wrap what serves the page's files (an aiohttp handler)."""

    async def served(request: Any) -> Any:
        response = await serve(request)
        if request.path == SCRIPT:
            response.text = corrected(response.text)
        return response

    return served
