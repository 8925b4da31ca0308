"""A guide as plain values: what the book, the caddie and the results say, ready to be set.

Whoever fills it has done all the computing; texts are shown as given.
"""

from dataclasses import dataclass
from typing import Literal

from bot.drawing.scene import ShotScene
from bot.drawing.trust_scene import BarsScene
from shared.units import UnitSystem

Paper = Literal["a4", "letter"]


@dataclass(frozen=True)
class GuideWind:
    """The wind of a hole in this round, as it blows along the hole."""

    speed_mps: float
    from_deg: float


@dataclass(frozen=True)
class GuideShot:
    """One shot: as the coach wrote it, what to do, and smaller print (set-up, margin, change)."""

    text: str
    aim: str = ""
    details: tuple[str, ...] = ()
    note: str = ""
    scene: ShotScene | None = None


@dataclass(frozen=True)
class GuideVariant:
    """One line of a hole: letter, title, status, author, shots, notes, ceiling and results."""

    letter: str
    shots: tuple[GuideShot, ...]
    title: str = ""
    status: str = ""
    author: str = ""
    notes: str = ""
    ceiling: str = ""
    results: str = ""


@dataclass(frozen=True)
class GuideHole:
    """One hole, its best variant first. ``facts`` are more lines for under its name."""

    number: int
    par: int
    length_m: float
    name: str = ""
    bearing_deg: float | None = None
    wind: GuideWind | None = None
    facts: tuple[str, ...] = ()
    variants: tuple[GuideVariant, ...] = ()
    ceilings: str = ""
    results: str = ""
    bars: BarsScene | None = None

    def scenes(self) -> tuple[ShotScene, ...]:
        """Pictures worth printing: of the first variant that has any, every shot."""
        for variant in self.variants:
            scenes = tuple(shot.scene for shot in variant.shots if shot.scene is not None)
            if scenes:
                return scenes
        return ()


@dataclass(frozen=True)
class Guide:
    """A round: ``title`` ('Heron Cup, round 2'), ``whose`` ('for the coach's bag')."""

    title: str
    holes: tuple[GuideHole, ...]
    whose: str = ""
    units: UnitSystem = "yards"

    @property
    def lined(self) -> tuple[GuideHole, ...]:
        """The holes that have a line."""
        return tuple(hole for hole in self.holes if hole.variants)

    @property
    def bare(self) -> tuple[GuideHole, ...]:
        """The holes for which no line is noted yet."""
        return tuple(hole for hole in self.holes if not hole.variants)
