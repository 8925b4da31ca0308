"""How a group's shots with a grade come down round where they were meant to, for pictures."""

from collections.abc import Mapping

from bot.drawing.scene import Spread
from bot.services.caddie.believed import GradeKey, grade_keys
from engine.gain import Posterior
from shared.kit import Kit

LEAST_SHOTS = 12
"""Shots with the grade itself from which its spread is called known: its own shots then outweigh
the prior's six (``engine.gain_learn``) two to one. Simulated, 60 runs each, hits of 2 to 8 m along:
at 12 shots the ellipse said to hold half held .47 to .57 on average, nine runs in ten .34 to .74;
at 48 shots .50, nine in ten .42 to .60."""

Spreads = Mapping[GradeKey, Spread]


def spreads_of(kit: Kit, posterior: Posterior) -> dict[GradeKey, Spread]:
    """By club and grade, where it is known; mishits are not in it, and the bias is aimed off."""
    own: list[int] = posterior.shots[:, 0].tolist()
    sd: list[list[float]] = posterior.hit_sd_m.tolist()
    return {
        key: Spread(right_sd_m=right, long_sd_m=long, shots=shots)
        for key, shots, (long, right) in zip(grade_keys(kit), own, sd, strict=True)
        if shots >= LEAST_SHOTS
    }
