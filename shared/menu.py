"""A menu of one choice as plain values, from whoever knows the choices to whoever shows them."""

from dataclasses import dataclass

Option = tuple[str, str, bool]
"""What is shown, what it stands for, whether it is chosen now."""


@dataclass(frozen=True)
class MenuFields:
    """A menu: the custom id it is answered by, what it says while nothing is chosen, options."""

    custom_id: str
    hint: str
    options: tuple[Option, ...]
