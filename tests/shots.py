"""Mixed shots for tests that hold the engine's flight against the reference."""

from typing import Any

import numpy as np

from engine.aim import Questions
from engine.flight import Landing, fly
from engine.launch import launch_row, launch_rows
from engine.motion import Air, launch_from, wind_vector
from tests.reference import Shot, Swing, Touch, touch


def mixed_shots(*, count: int, seed: int, most_wind_mps: float = 15.0, **same: Any) -> list[Shot]:
    """Every launch of the table in turn: part shots, tilted, off line, up and down, in wind."""
    random = np.random.default_rng(seed)
    shots: list[Shot] = []
    for number in range(count):
        names = launch_rows()
        speed_mps, elevation_rad, spin_radps = launch_row(names[number % len(names)])
        part = random.uniform(0.4, 1.1)
        shots.append(
            Shot(
                speed_mps=speed_mps * part,
                elevation_rad=elevation_rad,
                spin_radps=spin_radps * part * random.uniform(0.6, 1.4),
                azimuth_rad=random.uniform(-0.3, 0.3),
                tilt_rad=random.uniform(-0.3, 0.3),
                wind_mps=random.uniform(0, most_wind_mps),
                from_deg=random.uniform(0, 360),
                height_m=random.uniform(-15, 8),
                **same,
            )
        )
    return shots


def references(shots: list[Shot]) -> list[Touch | None]:
    """Every shot flown by the reference, ``None`` where it does not come down at its height."""
    return [touch(shot) for shot in shots]


def column(shots: list[Shot], name: str) -> np.ndarray:
    """One number of every shot."""
    return np.array([getattr(shot, name) for shot in shots], dtype=float)


def flown(shots: list[Shot], **how: float) -> Landing:
    """Every shot flown by the engine in one batch, in the first one's air."""
    launch = launch_from(
        speed_mps=column(shots, "speed_mps"),
        elevation_rad=column(shots, "elevation_rad"),
        azimuth_rad=column(shots, "azimuth_rad"),
        spin_radps=column(shots, "spin_radps"),
        tilt_rad=column(shots, "tilt_rad"),
    )
    wind = wind_vector(speed_mps=column(shots, "wind_mps"), from_deg=column(shots, "from_deg"))
    first = shots[0]
    air = Air(first.density_kgpm3, first.law, first.profile_exponent)
    return fly(launch=launch, wind_mps=wind, height_m=column(shots, "height_m"), air=air, **how)


def swing_of(questions: Questions, row: int) -> Swing:
    """One of the engine's questions as the reference takes it."""
    full = questions.full
    return Swing(
        full=Shot(
            speed_mps=float(full.speed_mps[row]),
            elevation_rad=float(full.elevation_rad[row]),
            spin_radps=float(full.spin_radps[row]),
            tilt_rad=float(questions.tilt_rad[row]),
            wind_mps=float(questions.wind_mps[row]),
            from_deg=float(questions.wind_from_deg[row]),
            height_m=float(questions.height_m[row]),
        ),
        rise_per_mps=float(full.rise_per_mps[row]),
        spin_per_mps=float(full.spin_per_mps[row]),
        spin_factor=float(questions.spin_factor[row]),
    )
