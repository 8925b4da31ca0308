"""A kit's ground as the engine plays it, and what a ball does on it in an answer's words."""

import numpy as np

from bot.services.caddie.believed import Rolls
from bot.services.caddie.numbers import tidy
from engine.bounce import Surface as EngineSurface
from engine.ground import Ground, stimp_deceleration_mps2
from engine.law import Runs
from shared.answer import GroundFacts, Offset
from shared.kit import SURFACE_KINDS, Kit, Surface, SurfaceKind
from shared.units import METRES_PER_FOOT, METRES_PER_YARD

AROUND: SurfaceKind = "fairway"  # what lies about a green
GREEN_RADIUS_M = 12.0  # of a usual green, where the ball is played onto it; a judgement
NOWHERE = -1  # of a shot whose target is where it comes down


def grounds_of(kit: Kit, rolls: Rolls) -> Ground:
    """The ground about a target of each kind of ``SURFACE_KINDS``, a row each.

    A green lies in fairway, all else in itself. ``rolls`` is what was learned of how far balls
    roll.
    """
    whole = _ground_onto(kit, SURFACE_KINDS[0], rolls)
    for kind in SURFACE_KINDS[1:]:
        whole = whole.joined(_ground_onto(kit, kind, rolls))
    return whole


def _ground_onto(kit: Kit, kind: SurfaceKind, rolls: Rolls) -> Ground:
    onto = kit.surface(kind)
    green = kind == "green"
    return Ground(
        surface=_engine_surface(kit.surface(AROUND) if green else onto, rolls),
        green=_engine_surface(onto, rolls),
        green_radius_m=np.array([GREEN_RADIUS_M if green else 0.0]),
        rises_long=np.array([onto.rises_percent / 100]),
        rises_right=np.array([onto.rises_right_percent / 100]),
    )


def roll_factor(kind: SurfaceKind, rolls: Rolls) -> float:
    """What a roll on a ground is multiplied by, as learned."""
    roll = rolls.get(kind)
    return 1.0 if roll is None else roll.factor


def _engine_surface(kind: Surface, rolls: Rolls) -> EngineSurface:
    """A ground of the kit as the engine's, one row; it slows a ball by 1 / the roll's factor."""
    return EngineSurface(
        firmness=np.array([kind.firmness]),
        friction=np.array([kind.friction]),
        slowing_mps2=stimp_deceleration_mps2(
            stimp_m=np.array([kind.stimp_ft * METRES_PER_FOOT * roll_factor(kind.kind, rolls)]),
        ),
    )


def onto_of(kind: SurfaceKind | None) -> int:
    """The row of ``grounds_of`` a ball is to finish on."""
    return NOWHERE if kind is None else SURFACE_KINDS.index(kind)


def ground_facts(
    runs: Runs, index: int, *, onto: SurfaceKind | None, distance_m: float
) -> GroundFacts | None:
    """What the ball at ``index`` does on the ground; None where its target is where it comes
    down."""
    if onto is None or not runs.asked[index] or not runs.solved[index]:
        return None
    yd = METRES_PER_YARD
    carry_m = float(runs.carry_m[index])
    total_m = float(np.hypot(distance_m + runs.ends_long_m[index], runs.ends_right_m[index]))
    return GroundFacts(
        onto=onto,
        comes_down=Offset(
            right_yd=tidy(runs.landed_right_m[index] / yd),
            long_yd=tidy(runs.landed_long_m[index] / yd),
        ),
        carry_yd=tidy(carry_m / yd),
        first_bounce_yd=tidy(runs.first_bounce_m[index] / yd),
        run_yd=tidy((total_m - carry_m) / yd),
        roll_yd=tidy(runs.roll_m[index] / yd),
        total_yd=tidy(total_m / yd),
    )
