"""What the trust pictures show, as plain values: variants as bars, a club's game beside the law."""

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
class GameRow:
    """A reference shot: what is computed, what the game does and half its interval; metres.

    ``words`` say the same as the card.
    """

    label: str
    computed_m: float
    learned_m: float
    half_m: float
    words: str


@dataclass(frozen=True)
class ChanceBin:
    """Tries that were given about the same chance: their number, the mean chance given, the share
    that went in with its interval; shares from 0 to 1."""

    tries: int
    given: float
    holed: float
    low: float
    high: float


@dataclass(frozen=True)
class ChancesScene:
    """A reliability diagram; ``interval`` says what the whiskers are."""

    title: str
    subtitle: str
    bins: tuple[ChanceBin, ...]
    interval: str


@dataclass(frozen=True)
class Residual:
    """What shot number ``shot`` missed by, beyond what was expected: right +, long +."""

    shot: int
    right_m: float
    long_m: float


@dataclass(frozen=True)
class GameScene:
    """What the game does with a club beside what is computed, and what is left of its shots."""

    title: str
    subtitle: str
    rows: tuple[GameRow, ...]
    residuals: tuple[Residual, ...]
    interval: str
    units: UnitSystem = "yards"
