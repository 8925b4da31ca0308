"""A result as a row of the table ``results``, and back."""

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
    """The result a row keeps."""
    return Result(
        id=row.id,
        community_id=row.community_id,
        member_id=row.member_id,
        author_name=row.author_name,
        interaction_id=row.interaction_id,
        attempt=row.attempt,
        edition=row.edition,
        origin_id=row.id if row.origin_id is None else row.origin_id,
        supersedes=row.supersedes,
        played=Played(
            **{name: getattr(row, name) for name in _PLAIN},
            wind_mmps=_pair(row, "wind_mmps"),
            miss_cm=_pair(row, "miss_cm"),
            effect_cm=_pair(row, "effect_cm"),
            observed_cm=_pair(row, "observed_cm"),
            aim_cm=_pair(row, "aim_cm"),
            missed_side=_pair(row, "missed_side"),
            several=_pair(row, "several"),
            ended_cm=_pair(row, "ended_cm"),
            onto=row.onto or "",
            left_out=row.left_out or "",
            round=row.round or "",
            wind_shown=row.wind_shown or "",
            line_revision=row.line_revision,
            parts=tuple(Part(scope, key, tuple(vector)) for scope, key, vector in row.parts),
        ),
        created_at=row.created_at,
        removed_at=row.removed_at,
    )


def _pair(row: Row[*tuple[object, ...]], name: str) -> tuple[int, int] | None:
    first, second = (getattr(row, column) for column in _PAIRS[name])
    return None if first is None else (first, second)
