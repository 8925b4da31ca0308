"""The practice ground: the real bot on a simulated Discord, used from a page in the browser."""

from bot.ground.opening import open_ground
from bot.ground.world import Person, Room, World

__all__ = ["Person", "Room", "World", "open_ground"]
