"""Drag, lift and spin decay of a golf ball.

Symbols: S = r omega / U (spin ratio), Re = U d / nu (nu = viscosity / density), U = speed of the
ball relative to the air, d = 2 r its diameter, omega its spin.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shared.errors import EngineError

Array = NDArray[np.float64]

BALL_MASS_KG = 0.04593  # R&A/USGA Equipment Rules: at most 1.620 oz
BALL_DIAMETER_M = 0.04267  # R&A/USGA Equipment Rules: at least 1.680 in
BALL_RADIUS_M = BALL_DIAMETER_M / 2
BALL_AREA_M2 = np.pi * BALL_RADIUS_M**2
GRAVITY_MPS2 = 9.80665  # CGPM 1901
AIR_VISCOSITY_PAS = 1.7894e-5  # ISO 2533:1975, dynamic viscosity at 0 m
# Where drag begins to rise in the law fitted. A dimpled ball's drag crisis lies between Re of about
# 40,000 and 100,000 (Bearman & Harvey 1976). The tables alone hardly tell where: below this value
# landings come out too flat again, above it a helping wind gives less than sources have printed
# (tests/published/test_wind.py) and part shots go no farther for it at all.
CRITICAL_REYNOLDS = 7e4
CRISIS_WIDTH = 0.1  # over which the corner of the rise is rounded, of the critical Reynolds number
SPIN_DECAY = 2e-5  # Smits & Smith 1994: d(omega)/dt = -2e-5 U omega / r


@dataclass(frozen=True)
class Aerodynamics:
    """A law of drag and lift, all numbers without dimension:

        CD = drag0 + drag1 S + drag2 S^2 + drag_wave sin(pi (Re - 90000) / 200000)
             + drag_rise (x + sqrt(x^2 + .01)) / 2,    x = 1 - Re / critical_reynolds
        CL = lift S^lift_power

    ``drag_rise`` is the drag crisis: below the critical Reynolds number the boundary layer of even
    a dimpled ball stays laminar, separates early, and drag rises as the ball slows (Bearman &
    Harvey, Aeronautical Quarterly 27:112-122, 1976). The term is max(0, x) with its corner rounded
    over a tenth of the critical Reynolds number: the crisis is gradual, and a corner would cost the
    integrator its order. A parabola that bends down (drag2 < 0) is held
    at its top, for drag must not fall, let alone push, where a wind from behind leaves a ball slow
    in the air. ``spin_decay`` is the factor c of d(omega)/dt = -c U omega / r; 0 keeps the spin.
    """

    drag0: float
    drag1: float
    drag2: float
    lift: float
    lift_power: float
    spin_decay: float = 0.0
    drag_wave: float = 0.0
    drag_rise: float = 0.0
    critical_reynolds: float = CRITICAL_REYNOLDS

    @cached_property
    def top_spin_ratio(self) -> float:
        """The spin ratio from which the parabola of CD is held: its top, infinity without one."""
        return -self.drag1 / (2 * self.drag2) if self.drag2 < 0 else np.inf

    @cached_property
    def asks_reynolds(self) -> bool:
        """Whether CD depends on the Reynolds number."""
        return bool(self.drag_wave or self.drag_rise)


# Fitted by tests/fit_aerodynamics.py to the older men's launch table, no spin decay; it prints what
# the fit leaves over on every table, tests/published/test_launch_tables.py holds it in bounds.
FITTED = Aerodynamics(
    drag0=0.1795,
    drag1=0.5841,
    drag2=-0.5097,
    lift=0.4969,
    lift_power=0.4416,
    drag_rise=1.0147,
)

# Smits & Smith, Science and Golf II (1994), pp. 340-347; stated for 70,000 < Re < 210,000 and
# .08 < S < .2. To check the flight against; it leaves a driver a tenth short of published carries.
SMITS_SMITH = Aerodynamics(
    drag0=0.24,
    drag1=0.18,
    drag2=0.0,
    lift=0.54,
    lift_power=0.4,
    spin_decay=SPIN_DECAY,
    drag_wave=0.06,
)

NO_AIR = Aerodynamics(drag0=0.0, drag1=0.0, drag2=0.0, lift=0.0, lift_power=1.0)


def coefficients(
    *, spin_ratio: Array, law: Aerodynamics, reynolds: Array | None = None
) -> tuple[Array, Array]:
    """CD and CL at spin ratio S and Reynolds number Re (same shape) under ``law``.

    Errors: EngineError where ``law`` asks for Re and it is missing.
    """
    held = np.minimum(spin_ratio, law.top_spin_ratio)
    drag = law.drag2 * held
    drag += law.drag1
    drag *= held
    drag += law.drag0
    if law.asks_reynolds:
        if reynolds is None:
            raise EngineError("this law of drag needs the Reynolds number")
        drag += _drag_of_reynolds(law, reynolds)
    lift = spin_ratio**law.lift_power
    lift *= law.lift
    return drag, lift


def _drag_of_reynolds(law: Aerodynamics, reynolds: Array) -> Array:
    half = law.drag_rise / 2
    below = reynolds * (-half / law.critical_reynolds)
    below += half
    drag = below * below
    drag += (CRISIS_WIDTH * half) ** 2
    np.sqrt(drag, out=drag)
    drag += below
    if law.drag_wave:
        drag += law.drag_wave * np.sin(np.pi * (reynolds - 90_000) / 200_000)
    return drag


def terminal_speed_mps(*, drag_coefficient: float, density_kgpm3: float) -> float:
    """Speed at which drag balances weight: sqrt(2 m g / (rho A CD)), in m/s."""
    weight = 2 * BALL_MASS_KG * GRAVITY_MPS2
    return float(np.sqrt(weight / (density_kgpm3 * BALL_AREA_M2 * drag_coefficient)))


def spin_time_constant_s(*, speed_mps: float) -> float:
    """Time in which the spin falls to 1/e at constant speed, r / (2e-5 U), Smits & Smith 1994."""
    return BALL_RADIUS_M / (SPIN_DECAY * speed_mps)
