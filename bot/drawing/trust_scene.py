"""What the trust pictures show, as plain values: variants as bars, a club's gain over its shots."""

from dataclasses import dataclass

from shared.units import UnitSystem


@dataclass(frozen=True)
class Bar:
    """One variant: a share from 0 to 1 with its interval, and a note such as '11 of 24 holed'."""

    label: str
    value: float
    low: float
    high: float
    note: str = ""


@dataclass(frozen=True)
class BarsScene:
    """Shares side by side; ``interval`` says what the whiskers are ('90% interval')."""

    title: str
    subtitle: str
    bars: tuple[Bar, ...]
    interval: str


@dataclass(frozen=True)
class GainTrack:
    """A gain after so many shots, with its interval; tuples of one length."""

    shots: tuple[int, ...]
    gain: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True)
class Residual:
    """What shot number ``shot`` missed by, beyond what the gain explains: right +, long +."""

    shot: int
    right_m: float
    long_m: float


@dataclass(frozen=True)
class GainScene:
    """A club's gain across and along against the number of shots, and what is left over."""

    title: str
    subtitle: str
    across: GainTrack
    along: GainTrack
    residuals: tuple[Residual, ...]
    interval: str
    units: UnitSystem = "yards"
