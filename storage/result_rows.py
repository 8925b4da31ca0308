"""A result as a row of the table ``results``, and back."""

from typing import Any

from sqlalchemy import Row

from storage.played import Part, Played, Result

_PLAIN = (
    "hole_key",
    "line_key",
    "variant",
    "holed",
    "club",
    "grade",
    "ball",
    "share",
    "carry_cm",
    "height_cm",
    "backspin",
    "tilt_deg",
    "chance",
    "weight",
    "remark",
)
_ABOUT = (
    "id",
    "community_id",
    "member_id",
    "author_name",
    "interaction_id",
    "attempt",
    "edition",
    "supersedes",
    "created_at",
    "removed_at",
)
_TEXTS = ("left_out", "round", "wind_shown", "onto")  # "" is kept as nothing
_PAIRS = {
    "wind_mmps": ("wind_along_mmps", "wind_right_mmps"),
    "miss_cm": ("miss_long_cm", "miss_right_cm"),
    "effect_cm": ("effect_long_cm", "effect_right_cm"),
    "observed_cm": ("observed_long_cm", "observed_right_cm"),
    "aim_cm": ("aim_long_cm", "aim_right_cm"),
    "missed_side": ("side_long", "side_right"),
    "several": ("tries", "went_in"),
    "ended_cm": ("ended_long_cm", "ended_right_cm"),
}


def to_row(played: Played) -> dict[str, object]:
    """The columns that say what was played."""
    row: dict[str, object] = {name: getattr(played, name) for name in _PLAIN}
    for name, columns in _PAIRS.items():
        row.update(zip(columns, getattr(played, name) or (None, None), strict=True))
    row.update({name: getattr(played, name) or None for name in _TEXTS})
    row["line_revision"] = played.line_revision
    row["parts"] = [[part.scope, part.key, list(part.vector)] for part in played.parts]
    return row


def from_row(row: Row[*tuple[object, ...]]) -> Result:
    """The result a row keeps; without parts where they were not read."""
    # A row finds each of its columns by name anew, which took half the time of reading many.
    held: dict[str, Any] = row._asdict()  # pyright: ignore[reportPrivateUsage]
    pairs = {name: (held[first], held[second]) for name, (first, second) in _PAIRS.items()}
    played: dict[str, Any] = {name: held[name] for name in _PLAIN}
    played.update({name: None if pair[0] is None else pair for name, pair in pairs.items()})
    played.update({name: held[name] or "" for name in _TEXTS})
    return Result(
        **{name: held[name] for name in _ABOUT},
        origin_id=held["id"] if held["origin_id"] is None else held["origin_id"],
        played=Played(
            **played,
            line_revision=held["line_revision"],
            parts=tuple(
                Part(scope, key, tuple(vector)) for scope, key, vector in held.get("parts", ())
            ),
        ),
    )
