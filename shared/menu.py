"""A menu of one choice as plain values, from whoever knows the choices to whoever shows them."""

from dataclasses import dataclass
from typing import Literal

Option = tuple[str, str, bool]
"""What is shown, what it stands for, whether it is chosen now."""


@dataclass(frozen=True)
class MenuFields:
    """A menu: the custom id it is answered by, what it says while nothing is chosen, options.

    One of the server's roles or channels has no options of ours: ``chosen`` is the id now.
    """

    custom_id: str
    hint: str
    options: tuple[Option, ...] = ()
    of: Literal["options", "roles", "channels", "notes channels"] = "options"
    chosen: int | None = None
