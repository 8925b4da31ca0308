"""The tables as they are now; ``storage/migrations`` is how they came to be.

Every table names its community. Times are UTC. Chat ids are 64-bit integers.
"""

from datetime import UTC, datetime

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

# SQLite counts rows by itself only in a column that is called INTEGER.
_ROW_ID = BigInteger().with_variant(Integer, "sqlite")

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class UtcTime(TypeDecorator[datetime]):
    """An aware time, kept in UTC; a naive one is refused, because nobody can say what it means."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time to be stored needs its time zone")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """SQLite gives the time back without its zone."""
        return value.replace(tzinfo=UTC) if value is not None and value.tzinfo is None else value


bags = Table(
    "bags",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("member_id", BigInteger, primary_key=True, autoincrement=False),
    Column("grades", JSON, nullable=False),
    Column("ball", String(100)),
    Column("units", String(20), nullable=False),
    Column("updated_at", UtcTime, nullable=False),
)

# Kits and the book: nothing is overwritten, every change is a row.
revisions = Table(
    "revisions",
    metadata,
    Column("id", _ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("kind", String(20), nullable=False),
    Column("key", String(200), nullable=False),
    Column("number", Integer, nullable=False),
    Column("body", Text, nullable=False),
    Column("author_id", BigInteger),
    Column("author_name", String(200)),
    Column("reason", Text, nullable=False),
    Column("created_at", UtcTime, nullable=False),
    UniqueConstraint("community_id", "kind", "key", "number"),
    Index(None, "author_id"),
)

# What is to happen at a time, also when nobody was up at that time.
jobs = Table(
    "jobs",
    metadata,
    Column("id", _ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("kind", String(40), nullable=False),
    Column("key", String(200), nullable=False),
    Column("payload", JSON, nullable=False),
    Column("due_at", UtcTime, nullable=False),
    Column("claim", Integer, nullable=False),
    Column("claimed_until", UtcTime),
    Column("trouble", Text),
    Column("done_at", UtcTime),
    UniqueConstraint("community_id", "kind", "key"),
    Index(None, "done_at", "due_at"),
)

# Messages that are to stand in a channel, and where they stand.
outbox = Table(
    "outbox",
    metadata,
    Column("id", _ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("key", String(200), nullable=False),
    Column("channel_id", BigInteger, nullable=False),
    Column("message_id", BigInteger),
    Column("member_id", BigInteger),
    Column("state", String(20), nullable=False),
    Column("body", JSON(none_as_null=True)),
    Column("fingerprint", String(64), nullable=False),
    Column("version", Integer, nullable=False),
    Column("claim", Integer, nullable=False),
    Column("claimed_until", UtcTime),
    Column("trouble", Text),
    Column("updated_at", UtcTime, nullable=False),
    UniqueConstraint("community_id", "key"),
    Index(None, "message_id"),
    Index(None, "state", "claimed_until"),
    Index(None, "member_id"),
)

# What single shots and lines did. A correction is a new row that supersedes the old one.
results = Table(
    "results",
    metadata,
    Column("id", _ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("hole_key", String(200), nullable=False),
    Column("line_key", String(200), nullable=False),
    Column("variant", String(40), nullable=False),
    Column("member_id", BigInteger),
    Column("author_name", String(200)),
    Column("interaction_id", BigInteger, nullable=False),
    Column("attempt", Integer, nullable=False),
    Column("edition", Integer, nullable=False),
    Column("origin_id", BigInteger, ForeignKey("results.id")),
    Column("supersedes", BigInteger, ForeignKey("results.id")),
    Column("wind_along_mmps", Integer),
    Column("wind_right_mmps", Integer),
    Column("club", String(100), nullable=False),
    Column("grade", String(100), nullable=False),
    Column("ball", String(100), nullable=False),
    Column("share", Float),
    Column("holed", Boolean, nullable=False),
    Column("miss_long_cm", Integer),
    Column("miss_right_cm", Integer),
    Column("effect_long_cm", Integer),
    Column("effect_right_cm", Integer),
    Column("observed_long_cm", Integer),
    Column("observed_right_cm", Integer),
    Column("carry_cm", Integer),
    Column("height_cm", Integer),
    Column("aim_long_cm", Integer),
    Column("aim_right_cm", Integer),
    Column("backspin", Float),
    Column("tilt_deg", Float),
    Column("side_long", Integer),
    Column("side_right", Integer),
    Column("left_out", String(200)),
    Column("weight", Float, nullable=False),
    Column("remark", Text, nullable=False),
    Column("parts", JSON, nullable=False),
    Column("created_at", UtcTime, nullable=False),
    Column("removed_at", UtcTime),
    UniqueConstraint("interaction_id"),
    UniqueConstraint("community_id", "line_key", "member_id", "attempt", "edition"),
    Index(None, "member_id", "community_id"),
    Index(None, "origin_id"),
)

# Running sums over the results that stand, kept in the transaction that changes them.
# Misses are in cm, and whole, so that what was added can be taken out without a trace.
line_sums = Table(
    "line_sums",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("hole_key", String(200), primary_key=True),
    Column("line_key", String(200), primary_key=True),
    Column("variant", String(40), nullable=False),
    *(
        Column(name, BigInteger, nullable=False)
        for name in (
            "tries",
            "holed",
            "measured",
            "sum_long",
            "sum_right",
            "sum_long2",
            "sum_right2",
            "sum_product",
        )
    ),
)

# The same by wind cell, the cells of one line and grade packed: they are always read together.
cell_sums = Table(
    "cell_sums",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("hole_key", String(200), primary_key=True),
    Column("line_key", String(200), primary_key=True),
    Column("club", String(100), primary_key=True),
    Column("grade", String(100), primary_key=True),
    Column("cells", LargeBinary, nullable=False),
)

# Sums of vectors whose meaning is the caller's, as whole numbers of 2**-30.
vector_sums = Table(
    "vector_sums",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("scope", String(40), primary_key=True),
    Column("key", String(200), primary_key=True),
    Column("entries", BigInteger, nullable=False),
    Column("total", Text, nullable=False),
)

# Polls as the chat shows them, and every vote given or taken back.
polls = Table(
    "polls",
    metadata,
    Column("id", _ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("channel_id", BigInteger, nullable=False),
    Column("message_id", BigInteger),
    Column("hole_key", String(200)),
    Column("question", Text, nullable=False),
    Column("answers", JSON, nullable=False),
    Column("closes_at", UtcTime, nullable=False),
    Column("state", String(20), nullable=False),
    Column("ended", String(20)),
    Column("told", JSON(none_as_null=True)),
    Column("created_at", UtcTime, nullable=False),
    Column("closed_at", UtcTime),
    UniqueConstraint("message_id"),
    Index(None, "community_id", "hole_key"),
    Index(None, "state"),
)

# A forgotten member's votes stand under a negative number nobody can trace.
votes = Table(
    "votes",
    metadata,
    Column("id", _ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("poll_id", BigInteger, ForeignKey("polls.id"), nullable=False),
    Column("member_id", BigInteger, nullable=False),
    Column("answer", Integer, nullable=False),
    Column("added", Boolean, nullable=False),
    Column("at", UtcTime, nullable=False),
    Index(None, "poll_id", "member_id", "answer"),
    Index(None, "member_id", "community_id"),
)

settings = Table(
    "settings",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("name", String(100), primary_key=True),
    Column("value", JSON, nullable=False),
    Column("updated_at", UtcTime, nullable=False),
)
