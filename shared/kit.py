"""The kit: what the group's game offers. Read from one TOML file by ``shared.kit_file``."""

from itertools import pairwise
from typing import Annotated, Any, Final, Literal, cast, get_args

from pydantic import Field, ValidationInfo, field_validator, model_validator

from shared.model import Model
from shared.units import METRES_PER_YARD

Name = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[^\W_][\w .'+-]*$")]
Yards = Annotated[float, Field(gt=0, le=500)]
Chart = tuple[tuple[float, float], ...]  # (share, marks per mph) points
MOST_MARKS: Final = 50.0  # of a chart, per mph
Family = Literal["wood", "hybrid", "long iron", "short iron", "wedge"]
SurfaceKind = Literal["tee", "fairway", "rough", "sand", "fringe", "green"]
SURFACE_KINDS: Final[tuple[SurfaceKind, ...]] = get_args(SurfaceKind)

_TURF: Final = {"stimp_ft": 4.28}  # rolls to a stop at .131 g, Penner 2002
_SURFACES: Final[dict[str, dict[str, float]]] = {
    "tee": _TURF,
    "fairway": _TURF,
    "rough": {"firmness": 0.6, "stimp_ft": 1.6, "spin_share": 0.7, "spread": 1.5},
    "sand": {"firmness": 0.2, "friction": 0.6, "stimp_ft": 0.6, "spin_share": 0.8, "spread": 2.0},
    "fringe": {"stimp_ft": 7.0},
    "green": {"stimp_ft": 10.0},
}
"""What a kind of ground differs in from ``Surface``'s own defaults. Fairway and green are published
values; those of rough, sand and fringe are judgements, to be replaced by the game's own."""


class MarkSize(Model):
    """Yards on the ground of one aim mark, at a grade's full and at its shortest carry."""

    name: Name = "mark"
    full_yd: Annotated[float, Field(gt=0, le=50)]
    short_yd: Annotated[float, Field(gt=0, le=50)]


class Ball(Model):
    """A ball: ``wind_share`` of the wind reaches it, ``carry_gain`` is added to every carry."""

    name: Name
    wind_share: Annotated[float, Field(ge=0, le=3)] = 1.0
    carry_gain: Annotated[float, Field(gt=-0.5, le=0.5)] = 0.0


class Grade(Model):
    """One upgrade step of a club and the still-air carries it can be set up for."""

    name: Name
    full_yd: Yards
    short_yd: Yards

    @model_validator(mode="after")
    def _ordered(self) -> "Grade":
        if self.short_yd >= self.full_yd:
            raise ValueError(
                f"short_yd ({self.short_yd:g}) must be less than full_yd ({self.full_yd:g})"
            )
        return self

    @property
    def full_m(self) -> float:
        """Full carry in metres, still air, level ground, the plain ball."""
        return self.full_yd * METRES_PER_YARD

    @property
    def short_m(self) -> float:
        """Shortest carry in metres."""
        return self.short_yd * METRES_PER_YARD


class Charts(Model):
    """What a coach measured in wind from three sides: [share, marks per mph] points.

    A helping wind may take carry away (below nothing); the others never do.
    """

    into: Annotated[Chart, Field(min_length=1)]
    helping: Annotated[Chart, Field(min_length=1)]
    across: Annotated[Chart, Field(min_length=1)]

    @field_validator("into", "helping", "across")
    @classmethod
    def _order(cls, chart: Chart, info: ValidationInfo) -> Chart:
        return _checked(chart, least=-MOST_MARKS if info.field_name == "helping" else 0.0)


class Club(Model):
    """A club with its grades, the first of which is the default.

    ``launch`` names the row of the published launch table the club flies like; its own name
    where that is a row. ``chart`` holds a coach's measured [share, marks per mph] points for
    wind from every side, ``charts`` those for three sides; a club has one of both, or neither.
    """

    name: Name
    family: Family
    aliases: tuple[Name, ...] = ()
    launch: str = ""
    grades: Annotated[tuple[Grade, ...], Field(min_length=1, max_length=30)]
    mark: MarkSize | None = None
    chart: Chart = ()
    charts: Charts | None = None

    @field_validator("chart")
    @classmethod
    def _chart_order(cls, chart: Chart) -> Chart:
        return _checked(chart, least=0.0)

    @model_validator(mode="after")
    def _one_way(self) -> "Club":
        if self.chart and self.charts:
            raise ValueError("give chart or charts, not both")
        return self

    @model_validator(mode="after")
    def _unique_grades(self) -> "Club":
        repeated = _first_repeated([grade.name for grade in self.grades])
        if repeated:
            raise ValueError(f"grade {repeated!r} stands twice")
        return self

    @property
    def charted(self) -> bool:
        """Whether a measured chart says what wind does to it."""
        return bool(self.chart or self.charts)

    @property
    def by_direction(self) -> tuple[Chart, Chart, Chart]:
        """The chart into, helping and across; three times the one where it has one."""
        if self.charts:
            return self.charts.into, self.charts.helping, self.charts.across
        return self.chart, self.chart, self.chart

    def grade(self, name: str | None) -> Grade:
        """The grade of that name, the default without one; KeyError where there is none."""
        if name is None:
            return self.grades[0]
        for grade in self.grades:
            if grade.name == name:
                return grade
        raise KeyError(name)


class Limits(Model):
    """What the game allows when setting up a shot."""

    over_full: Annotated[float, Field(ge=0, le=0.5)] = 0.1  # beyond full carry, as a share of it
    marks: Annotated[float, Field(gt=0, le=200)] = 30.0  # farthest the aim can be moved
    spin_steps: Annotated[float, Field(ge=0, le=20)] = 5.0
    tilt_deg: Annotated[float, Field(ge=0, le=45)] = 15.0


class SpinScale(Model):
    """What one step of spin does: backspin as a share of the club's own, sidespin as axis tilt."""

    back_share: Annotated[float, Field(ge=0, le=0.2)] = 0.08
    side_tilt_deg: Annotated[float, Field(ge=0, le=10)] = 2.0
    curve_tilt_deg: Annotated[float, Field(gt=0, le=30)] = 6.0  # a draw or fade without a number


class Surface(Model):
    """One kind of ground: what it does to a ball that lands on it and to a shot played from it.

    ``firmness`` multiplies the bounce, ``friction`` is that of the bounce, ``stimp_ft`` the
    Stimpmeter reading, so how far a slow ball rolls. It rises beyond by ``rises_percent`` and to
    the right by ``rises_right_percent``. From it a club carries ``carry_share`` of its still-air
    carry with ``spin_share`` of its spin, and hits spread by ``spread`` times as much.
    """

    kind: SurfaceKind
    firmness: Annotated[float, Field(ge=0, le=1.5)] = 1.0
    friction: Annotated[float, Field(ge=0.01, le=2)] = 0.40
    stimp_ft: Annotated[float, Field(ge=0.1, le=20)] = 10.0
    rises_percent: Annotated[float, Field(ge=-20, le=20)] = 0.0
    rises_right_percent: Annotated[float, Field(ge=-20, le=20)] = 0.0
    carry_share: Annotated[float, Field(gt=0, le=1.2)] = 1.0
    spin_share: Annotated[float, Field(ge=0, le=1.5)] = 1.0
    spread: Annotated[float, Field(ge=0.2, le=5)] = 1.0

    @model_validator(mode="before")
    @classmethod
    def _of_its_kind(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        given = cast("dict[str, object]", data)
        return {**_SURFACES.get(str(given.get("kind")), {}), **given}


class Kit(Model):
    """Everything the group's game offers."""

    name: Name
    mark: MarkSize
    limits: Limits = Limits()
    spin: SpinScale = SpinScale()
    balls: Annotated[tuple[Ball, ...], Field(min_length=1, max_length=50)]
    clubs: Annotated[tuple[Club, ...], Field(min_length=1, max_length=100)]
    surfaces: Annotated[tuple[Surface, ...], Field(max_length=len(SURFACE_KINDS))] = ()

    @model_validator(mode="after")
    def _unique(self) -> "Kit":
        names = [club.name.casefold() for club in self.clubs]
        names += [alias.casefold() for club in self.clubs for alias in club.aliases]
        repeated = _first_repeated(names)
        if repeated:
            raise ValueError(f"club {repeated!r} stands twice")
        repeated = _first_repeated([ball.name.casefold() for ball in self.balls])
        if repeated:
            raise ValueError(f"ball {repeated!r} stands twice")
        repeated = _first_repeated([surface.kind for surface in self.surfaces])
        if repeated:
            raise ValueError(f"surface {repeated!r} stands twice")
        return self

    def surface(self, kind: SurfaceKind) -> Surface:
        """The ground of that kind, its defaults where the kit does not describe it."""
        for surface in self.surfaces:
            if surface.kind == kind:
                return surface
        return Surface(kind=kind)

    def club(self, name: str) -> Club:
        """The club of that name; KeyError where the kit has none."""
        for club in self.clubs:
            if club.name == name:
                return club
        raise KeyError(name)

    def ball(self, name: str | None) -> Ball:
        """The ball of that name, the first without one; KeyError where the kit has none."""
        if name is None:
            return self.balls[0]
        for ball in self.balls:
            if ball.name == name:
                return ball
        raise KeyError(name)

    def mark_of(self, club: Club) -> MarkSize:
        """The mark size in force for ``club``."""
        return club.mark or self.mark


def _checked(chart: Chart, *, least: float) -> Chart:
    """A chart whose points are in order. Raises ValueError."""
    shares = [share for share, _ in chart]
    if any(not 0 < share <= 2 for share in shares):
        raise ValueError("each share must be above 0 and at most 2")
    if any(later <= earlier for earlier, later in pairwise(shares)):
        raise ValueError("shares must rise from point to point")
    if any(not least <= marks <= MOST_MARKS for _, marks in chart):
        raise ValueError(f"marks per mph must be from {least:g} to {MOST_MARKS:g}")
    return chart


def _first_repeated(names: list[str]) -> str:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            return name
        seen.add(name)
    return ""
