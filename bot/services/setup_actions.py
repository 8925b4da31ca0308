"""What the buttons and menus ask for under what a group sets up: its kit, roles and channels."""

from dataclasses import dataclass
from typing import ClassVar

from bot.services.actions import Action


@dataclass(frozen=True)
class DecideKit(Action):
    """Save (save) or give up (drop) a kit that was loaded and looked at."""

    name: ClassVar[str] = "kit"
    sign: ClassVar[str] = ":"
    act: str
    token: str


@dataclass(frozen=True)
class BringKitBack(Action):
    """Bring back a revision of the community's kit, 0 for the operator's; ``seen`` is the newest
    one when the button was made."""

    name: ClassVar[str] = "kitback"
    revision: int
    seen: int


@dataclass(frozen=True)
class SetupStep(Action):
    """Show a step of the set-up from a page on (go), or have nothing chosen there (none)."""

    name: ClassVar[str] = "setupstep"
    act: str
    step: str
    page: int


@dataclass(frozen=True)
class PickSetup(Action):
    """Choose a role or a channel in a step of the set-up; of divisions the one at ``place``."""

    name: ClassVar[str] = "picksetup"
    step: str
    place: int
