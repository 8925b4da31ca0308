"""The tables as they are now; ``storage/migrations`` is how they came to be.

Every table names its community. Times are UTC. Chat ids are 64-bit integers.
"""

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    UniqueConstraint,
    false,
    text,
)

from storage.columns import ROW_ID, Name, UtcTime, Words

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


bags = Table(
    "bags",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("member_id", BigInteger, primary_key=True, autoincrement=False),
    Column("grades", JSON, nullable=False),
    Column("ball", Name(100)),
    Column("units", Name(20), nullable=False),
    Column("private", Boolean, nullable=False, server_default=false()),
    Column("updated_at", UtcTime, nullable=False),
    Index(None, "member_id"),
)

# Kits and the book: nothing is overwritten, every change is a row.
revisions = Table(
    "revisions",
    metadata,
    Column("id", ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("kind", Name(20), nullable=False),
    Column("key", Name(200), nullable=False),
    Column("number", Integer, nullable=False),
    Column("body", Words, nullable=False),
    Column("author_id", BigInteger),
    Column("author_name", Name(200)),
    Column("reason", Words, nullable=False),
    Column("created_at", UtcTime, nullable=False),
    UniqueConstraint("community_id", "kind", "key", "number"),
    Index(None, "author_id"),
)

# What is to happen at a time, also when nobody was up at that time.
jobs = Table(
    "jobs",
    metadata,
    Column("id", ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("kind", Name(40), nullable=False),
    Column("key", Name(200), nullable=False),
    Column("payload", JSON, nullable=False),
    Column("due_at", UtcTime, nullable=False),
    Column("claim", Integer, nullable=False),
    Column("claimed_until", UtcTime),
    Column("failures", Integer, nullable=False),
    Column("trouble", Words),
    Column("done_at", UtcTime),
    Column("outcome", Name(20)),
    UniqueConstraint("community_id", "kind", "key"),
    Index(None, "done_at", "due_at"),
    sqlite_autoincrement=True,
)

# Messages that are to stand in a channel, and where they stand.
outbox = Table(
    "outbox",
    metadata,
    Column("id", ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("key", Name(200), nullable=False),
    Column("channel_id", BigInteger, nullable=False),
    Column("message_id", BigInteger),
    Column("member_id", BigInteger),
    Column("state", Name(20), nullable=False),
    Column("body", JSON(none_as_null=True)),
    Column("fingerprint", Name(64), nullable=False),
    Column("version", Integer, nullable=False),
    Column("claim", Integer, nullable=False),
    Column("claimed_until", UtcTime),
    Column("nonce", Name(25), nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("not_before", UtcTime),
    Column("trouble", Words),
    Column("updated_at", UtcTime, nullable=False),
    Column("stale", Integer, nullable=False, server_default=text("0")),
    Column("insists", Boolean, nullable=False, server_default=false()),
    UniqueConstraint("community_id", "key"),
    Index(None, "stale", sqlite_where=text("stale > 0"), postgresql_where=text("stale > 0")),
    Index(None, "message_id"),
    Index(None, "channel_id"),
    Index(None, "state", "claimed_until"),
    Index(None, "member_id"),
    sqlite_autoincrement=True,  # a claim of a deleted message must not fit a later one
)

# What single shots and lines did. A correction is a new row that supersedes the old one.
results = Table(
    "results",
    metadata,
    Column("id", ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("hole_key", Name(200), nullable=False),
    Column("line_key", Name(200), nullable=False),
    Column("variant", Name(40), nullable=False),
    Column("member_id", BigInteger),
    Column("author_name", Name(200)),
    Column("interaction_id", BigInteger, nullable=False),
    Column("attempt", Integer, nullable=False),
    Column("edition", Integer, nullable=False),
    Column("origin_id", BigInteger, ForeignKey("results.id")),
    Column("supersedes", BigInteger, ForeignKey("results.id")),
    Column("wind_along_mmps", Integer),
    Column("wind_right_mmps", Integer),
    Column("club", Name(100), nullable=False),
    Column("grade", Name(100), nullable=False),
    Column("ball", Name(100), nullable=False),
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
    Column("tries", Integer),
    Column("went_in", Integer),
    Column("ended_long_cm", Integer),
    Column("ended_right_cm", Integer),
    Column("onto", Name(20)),
    Column("chance", Float),
    Column("left_out", Name(200)),
    Column("line_revision", Integer),
    Column("round", Name(200)),
    Column("wind_shown", Name(200)),
    Column("weight", Float, nullable=False),
    Column("remark", Words, nullable=False),
    Column("parts", JSON, nullable=False),
    Column("created_at", UtcTime, nullable=False),
    Column("removed_at", UtcTime),
    UniqueConstraint("interaction_id"),
    UniqueConstraint("community_id", "line_key", "member_id", "attempt", "edition"),
    Index(None, "member_id", "community_id"),
    Index(None, "community_id", "club", "id"),
    Index(
        "ix_results_chances_given",
        "community_id",
        "id",
        sqlite_where=text("chance IS NOT NULL"),
        postgresql_where=text("chance IS NOT NULL"),
    ),
    Index(None, "origin_id"),
)

# Running sums over the results that stand, kept in the transaction that changes them.
# Misses are in cm, and whole, so that what was added can be taken out without a trace.
line_sums = Table(
    "line_sums",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("hole_key", Name(200), primary_key=True),
    Column("line_key", Name(200), primary_key=True),
    Column("variant", Name(40), nullable=False),
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
    Column("hole_key", Name(200), primary_key=True),
    Column("line_key", Name(200), primary_key=True),
    Column("club", Name(100), primary_key=True),
    Column("grade", Name(100), primary_key=True),
    Column("cells", LargeBinary, nullable=False),
)

# Sums of vectors whose meaning is the caller's, as whole numbers of 2**-30.
vector_sums = Table(
    "vector_sums",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("scope", Name(40), primary_key=True),
    Column("key", Name(200), primary_key=True),
    Column("entries", BigInteger, nullable=False),
    Column("total", Words, nullable=False),
)

# Polls as the chat shows them, and every vote given or taken back.
polls = Table(
    "polls",
    metadata,
    Column("id", ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("channel_id", BigInteger, nullable=False),
    Column("message_id", BigInteger),
    Column("hole_key", Name(200)),
    Column("question", Words, nullable=False),
    Column("answers", JSON, nullable=False),
    Column("closes_at", UtcTime, nullable=False),
    Column("state", Name(20), nullable=False),
    Column("ended", Name(20)),
    Column("told", JSON(none_as_null=True)),
    Column("created_at", UtcTime, nullable=False),
    Column("closed_at", UtcTime),
    UniqueConstraint("message_id"),
    Index(None, "community_id", "hole_key"),
    Index(None, "state", "closed_at"),
)

# A forgotten member's votes stand under a negative number nobody can trace.
votes = Table(
    "votes",
    metadata,
    Column("id", ROW_ID, primary_key=True),
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
    Column("name", Name(100), primary_key=True),
    Column("value", JSON, nullable=False),
    Column("updated_at", UtcTime, nullable=False),
)

# Who is served. ``left_at``: since when no more; what is kept of them goes some time after.
communities = Table(
    "communities",
    metadata,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("joined_at", UtcTime, nullable=False),
    Column("left_at", UtcTime),
    Index(None, "left_at"),
)

# How often something a process may hold in memory has changed.
versions = Table(
    "versions",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("kind", Name(20), primary_key=True),
    Column("number", BigInteger, nullable=False),
)

# Which community's bag and kit answer a member outside its server. ``updated_at``: when chosen.
homes = Table(
    "homes",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("member_id", BigInteger, primary_key=True, autoincrement=False),
    Column("updated_at", UtcTime, nullable=False),
    Index(None, "member_id", "updated_at"),
)

# Where a member is in their round, and the wind of each hole as they had it. ``body`` is the
# caller's.
member_rounds = Table(
    "member_rounds",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("member_id", BigInteger, primary_key=True, autoincrement=False),
    Column("body", JSON, nullable=False),
    Column("updated_at", UtcTime, nullable=False),
)

# Of each event; "" is what was said before divisions were kept by event.
divisions = Table(
    "divisions",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("member_id", BigInteger, primary_key=True, autoincrement=False),
    Column("event", Name(200), primary_key=True),
    Column("division", Name(200), nullable=False),
    Column("updated_at", UtcTime, nullable=False),
    Index(None, "member_id"),
)

# Lines that coaches are writing, in the order they began.
drafts = Table(
    "drafts",
    metadata,
    Column("id", ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("member_id", BigInteger, nullable=False),
    Column("token", Name(40), nullable=False),
    Column("body", JSON, nullable=False),
    Column("updated_at", UtcTime, nullable=False),
    UniqueConstraint("community_id", "member_id", "token"),
)

# Members who asked to be reminded to log their rounds.
reminders = Table(
    "reminders",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("member_id", BigInteger, primary_key=True, autoincrement=False),
    Column("updated_at", UtcTime, nullable=False),
)

# What each member was told to aim lately, a list; the newest last.
told_aims = Table(
    "told_aims",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("member_id", BigInteger, primary_key=True, autoincrement=False),
    Column("body", JSON, nullable=False),
    Column("updated_at", UtcTime, nullable=False),
    Index(None, "member_id"),
)

# Shots played on purpose to measure a club.
measured_series = Table(
    "measured_series",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("member_id", BigInteger, primary_key=True, autoincrement=False),
    Column("club", Name(100), primary_key=True),
    Column("body", JSON, nullable=False),
    Column("updated_at", UtcTime, nullable=False),
)

# What coaches decided about the learning, and why. Rows are only added.
decisions = Table(
    "decisions",
    metadata,
    Column("id", ROW_ID, primary_key=True),
    Column("community_id", BigInteger, nullable=False),
    Column("coach_id", BigInteger),
    Column("coach_name", Name(200)),
    Column("what", Words, nullable=False),
    Column("reason", Words, nullable=False),
    Column("at", UtcTime, nullable=False),
    Index(None, "community_id", "id"),
)

# Clubs held at what was known; what ``grades`` means is the caller's.
frozen_clubs = Table(
    "frozen_clubs",
    metadata,
    Column("community_id", BigInteger, primary_key=True, autoincrement=False),
    Column("club", Name(100), primary_key=True),
    Column("reason", Words, nullable=False),
    Column("grades", JSON, nullable=False),
    Column("at", UtcTime, nullable=False),
)
