"""What the game does with a club as a picture, in the words and numbers of the card."""

from bot.drawing.trust_scene import GameRow, GameScene, Residual
from bot.services.learning.report import ClubReport, GameEffect
from engine.response_refer import REFERENCE_MPS, Reference
from shared.units import LENGTH_UNIT_OF, METRES_PER_YARD, UnitSystem
from shared.wording import length, plural, speed

WAYS = ("long", "short"), ("right", "left")


def game_scene(report: ClubReport, units: UnitSystem) -> GameScene | None:
    """The scene of a club's best known grade, None before a shot of the club counts."""
    game = report.grades[0]
    if not game.shots:
        return None
    counted = [shot for shot in report.shots if shot.weight > 0 and not shot.left_out]
    return GameScene(
        title=f"{report.club} ({game.grade}): what our game does",
        subtitle=f"{plural(game.shots, 'shot')} of the group; at full carry",
        rows=tuple(
            GameRow(
                label=reference_name(effect.reference, units),
                computed_m=effect.computed_m,
                learned_m=effect.learned_m,
                half_m=effect.half_m,
                words=game_words(effect, units),
            )
            for effect in game.effects
        ),
        residuals=tuple(
            Residual(n, shot.residual_right_m, shot.residual_long_m)
            for n, shot in enumerate(counted, start=1)
        ),
        interval="90% interval",
        units=units,
    )


def reference_name(reference: Reference, units: UnitSystem) -> str:
    """'10 mph into', 'ten yards up, calm' in the reader's units."""
    wind = speed(REFERENCE_MPS, units)
    return {
        Reference.INTO: f"{wind} into",
        Reference.HELPING: f"{wind} helping",
        Reference.ACROSS: f"{wind} off the right",
        Reference.UP: f"{length(10, units, 0 if LENGTH_UNIT_OF[units] == 'yd' else 1)} up, calm",
    }[reference]


def game_words(effect: GameEffect, units: UnitSystem) -> str:
    """'computed 9.8 yd long, your game 12.1 yd long ± 0.9'; what nothing was learned of is only
    computed."""
    computed, learned = effect.computed_m, effect.learned_m
    axis = int(effect.reference == Reference.ACROSS)
    half = length(effect.half_m / METRES_PER_YARD, units).split()[0]
    known = _way(computed, axis, units)
    if not effect.known:
        return f"computed {known} ± {half}"
    return f"computed {known}, your game {_way(learned, axis, units)} ± {half}"


def _way(value_m: float, axis: int, units: UnitSystem) -> str:
    plus, minus = WAYS[axis]
    return f"{length(abs(value_m) / METRES_PER_YARD, units)} {plus if value_m >= 0 else minus}"
