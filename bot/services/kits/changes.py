"""What another kit changes, in words: a row a club, ball or rule of the game."""

from collections.abc import Iterable, Iterator
from typing import Any, Final, Protocol, TypeVar

from shared.bag import Bag
from shared.kit import Charts, Club, Grade, Kit, MarkSize, SurfaceKind
from shared.model import Model
from shared.units import UnitSystem
from shared.wording import length


class _Named(Protocol):
    @property
    def name(self) -> str: ...


Thing = TypeVar("Thing", bound=_Named)
_WORDS: Final = {
    "wind_share": "share of the wind",
    "carry_gain": "more carry",
    "over_full": "set-ups beyond full carry",
    "marks": "farthest aim in marks",
    "spin_steps": "steps of spin",
    "tilt_deg": "most tilt",
    "back_share": "a step of backspin",
    "side_tilt_deg": "a step of side spin",
    "curve_tilt_deg": "a draw or fade",
    "stimp_ft": "Stimpmeter",
}


def kit_changes(old: Kit, new: Kit, units: UnitSystem) -> list[str]:
    """What differs between two kits, a line each; empty where nothing does."""
    return list(_changes(old, new, units))


def lacking(bag: Bag, kit: Kit) -> list[str]:
    """What a bag holds and a kit lacks, such as 'oak 5-iron'; it is kept with the bag."""
    clubs = {club.name: {grade.name for grade in club.grades} for club in kit.clubs}
    gone = [
        f"{grade} {club}" for club, grade in bag.grades.items() if grade not in clubs.get(club, ())
    ]
    if bag.ball is not None and bag.ball not in {ball.name for ball in kit.balls}:
        gone.append(f"{bag.ball} ball")
    return gone


def _changes(old: Kit, new: Kit, units: UnitSystem) -> Iterator[str]:
    if old.name != new.name:
        yield f"Name: {old.name} → {new.name}"
    yield from _mark_changes("One mark", old.mark, new.mark, units)
    for was, now in ((old.limits, new.limits), (old.spin, new.spin)):
        yield from _field_changes(was, now)
    yield from _thing_changes("ball", old.balls, new.balls)
    yield from _surface_changes(old, new)
    before, after = _by_name(old.clubs), _by_name(new.clubs)
    if set(before) == set(after) and list(before) != list(after):
        yield "The clubs stand in another order."
    yield from (f"＋ {name}: {_grades(after[name], units)}" for name in after if name not in before)
    yield from (f"− {name}" for name in before if name not in after)
    for name, club in after.items():
        if name in before and before[name] != club:
            yield f"{name}: {'; '.join(_club_changes(before[name], club, units))}"


def _by_name(things: Iterable[Thing]) -> dict[str, Thing]:
    return {each.name: each for each in things}


def _grades(club: Club, units: UnitSystem) -> str:
    return ", ".join(f"{each.name} {_carry(each, units)}" for each in club.grades)


def _carry(grade: Grade, units: UnitSystem) -> str:
    return f"{length(grade.full_yd, units, 0)} (from {length(grade.short_yd, units, 0)})"


def _club_changes(old: Club, new: Club, units: UnitSystem) -> Iterator[str]:
    before, after = _by_name(old.grades), _by_name(new.grades)
    for name, grade in after.items():
        if name not in before:
            yield f"＋ {name} {_carry(grade, units)}"
        elif before[name] != grade:
            yield f"{name} {_carry(before[name], units)} → {_carry(grade, units)}"
    yield from (f"− {name}" for name in before if name not in after)
    if set(before) == set(after) and list(before) != list(after):
        yield f"grades in another order, {new.grades[0].name} first"
    for field in ("family", "launch", "aliases"):
        was, now = _said(getattr(old, field)), _said(getattr(new, field))
        if was != now:
            yield f"{field} {was} → {now}"
    if old.mark != new.mark:
        yield from _mark_changes("mark", old.mark, new.mark, units)
    if (old.chart, old.charts) != (new.chart, new.charts):
        yield f"chart {_chart(old)} → {_chart(new)}"


def _mark_changes(
    noun: str, old: MarkSize | None, new: MarkSize | None, units: UnitSystem
) -> Iterator[str]:
    if old != new:
        yield f"{noun}: {_mark(old, units)} → {_mark(new, units)}"


def _mark(mark: MarkSize | None, units: UnitSystem) -> str:
    if mark is None:
        return "the kit's"
    full, short = length(mark.full_yd, units, 2), length(mark.short_yd, units, 2)
    return f"{mark.name} {full} full, {short} short"


def _chart(club: Club) -> str:
    if not club.charted:
        return "none"
    if not isinstance(club.charts, Charts):
        return _points(club.chart)
    return ", ".join(f"{name} {_points(points)}" for name, points in club.charts)


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{share:.0%} {marks:g}" for share, marks in points)


def _thing_changes(noun: str, old: Iterable[Any], new: Iterable[Any]) -> Iterator[str]:
    before, after = _by_name(old), _by_name(new)
    yield from (f"＋ {noun} {name}" for name in after if name not in before)
    yield from (f"− {noun} {name}" for name in before if name not in after)
    for name, thing in after.items():
        if name in before:
            yield from (f"{noun} {name}: {each}" for each in _field_changes(before[name], thing))
    if set(before) == set(after) and list(before) != list(after):
        yield f"The {noun}s stand in another order, {next(iter(after))} first."


def _surface_changes(old: Kit, new: Kit) -> Iterator[str]:
    kinds: dict[SurfaceKind, None] = dict.fromkeys(
        each.kind for each in (*old.surfaces, *new.surfaces)
    )
    for kind in kinds:
        changed = list(_field_changes(old.surface(kind), new.surface(kind)))
        if changed:
            yield f"{kind}: {', '.join(changed)}"


def _field_changes(old: Model, new: Model) -> Iterator[str]:
    """Fields that differ, those without a word of their own by their name in the file."""
    for field in type(new).model_fields:
        was, now = getattr(old, field), getattr(new, field)
        if was != now:
            yield f"{_WORDS.get(field, field)} {_said(was)} → {_said(now)}"


def _said(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(map(str, value)) or "none"  # pyright: ignore[reportUnknownArgumentType]
    return f"{value:g}" if isinstance(value, float) else str(value) or "none"
