"""Pictures of a line's shots: from what one member is told, or as the line was tested."""

from bot.drawing.scene import ShotScene
from bot.services.caddie.adapt import AdaptedLine
from bot.services.caddie.caddie import Caddie
from bot.services.learning.spread import Spreads
from bot.services.pictures.shot_scenes import adapted_pose, scenes
from engine.move import Fit
from shared.units import UnitSystem

MOST_PICTURES = 4  # a message holds ten; a phone's patience fewer


def line_scenes(
    caddie: Caddie, line: AdaptedLine, units: UnitSystem, spreads: Spreads
) -> list[ShotScene]:
    """A scene for every shot that can be drawn, with the allowance this member is told.

    Takes some 20 ms: not for the event loop.
    """
    poses = [
        adapted_pose(shot, units=units, spread=spreads.get((shot.choice.club, shot.choice.grade)))
        for shot in line.shots[:MOST_PICTURES]
        if shot.fit == Fit.FINE
    ]
    return scenes(caddie, poses)
