"""Pictures of a line's shots: from what one member is told, or as the line was tested."""

from bot.caddie.adapt import AdaptedLine, AdaptedShot
from bot.caddie.caddie import Caddie
from bot.pictures.scene import ShotScene, scene_of
from engine.move import Fit
from shared.answer import Answer, Margin
from shared.errors import LeewardError
from shared.units import UnitSystem

MOST_PICTURES = 4  # a message holds ten; a phone's patience fewer


def line_scenes(caddie: Caddie, line: AdaptedLine, units: UnitSystem) -> list[ShotScene]:
    """A scene for every shot that can be drawn, with the allowance this member is told.

    Takes some 40 ms a shot: not for the event loop.
    """
    scenes: list[ShotScene] = []
    for shot in line.shots[:MOST_PICTURES]:
        answer = _answer(caddie, shot)
        if answer is not None:
            scenes.append(scene_of(caddie, answer, units=units, room=shot.read.room))
    return scenes


def _answer(caddie: Caddie, adapted: AdaptedShot) -> Answer | None:
    """The caddie's answer to the shot, with the line's own allowance and margin in it."""
    if adapted.fit != Fit.FINE:
        return None
    choice = adapted.choice
    shot = adapted.shot.model_copy(update={"grade": choice.grade, "ball": choice.ball})
    try:
        answer = caddie.answer(shot=shot)
    except LeewardError:
        return None
    mark_yd = _mark_yd(answer)
    margin = Margin(
        right_yd=adapted.margin.right_yd,
        long_yd=adapted.margin.long_yd,
        right_marks=adapted.margin.right_yd / mark_yd,
        long_marks=adapted.margin.long_yd / mark_yd,
        source=answer.margin.source,
    )
    return answer.model_copy(
        update={
            "allowance": adapted.allowance,
            "margin": margin,
            "plays_yd": adapted.plays_yd,
            "setup_yd": adapted.setup_yd,
        }
    )


def _mark_yd(answer: Answer) -> float:
    """Yards of a mark at the answer's carry, from its own allowance; 1 for a calm."""
    allowance = answer.allowance
    for yards, marks in (
        (allowance.right_yd, allowance.right_marks),
        (allowance.long_yd, allowance.long_marks),
    ):
        if abs(marks) > 1e-3:
            return yards / marks
    return 1.0
