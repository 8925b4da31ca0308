"""The practice ground: the real bot on a simulated Discord, used from a page in the browser."""

from bot.practice_ground.opening import open_ground
from bot.practice_ground.world import Person, Room, World

__all__ = ["Person", "Room", "World", "open_ground"]
