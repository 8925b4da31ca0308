"""What a column keeps: times in UTC, row numbers, texts that both databases take alike."""

from datetime import UTC, datetime

from sqlalchemy import BigInteger, DateTime, Dialect, Integer, String, Text, TypeDecorator
from sqlalchemy.types import TypeEngine

from storage.faults import UnstorableTextError

# SQLite counts rows by itself only in a column that is called INTEGER.
ROW_ID = BigInteger().with_variant(Integer, "sqlite")


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


class Name(TypeDecorator[str]):
    """A text of at most ``length`` characters, ordered by code point on every database.

    SQLite would keep a longer one, and a NUL as well; a server refuses both, each with a message
    of its own. Here both are UnstorableTextError. A key's prefix is a range only where the order
    is by code point, which a server's language may not be.
    """

    impl = String
    cache_ok = True

    def __init__(self, length: int) -> None:
        super().__init__(length)
        self.length = length

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[str]:
        """With the order by code point said where it is not a matter of course."""
        collation = "C" if dialect.name == "postgresql" else None
        return dialect.type_descriptor(String(self.length, collation=collation))

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        """The text; raises UnstorableTextError."""
        if value is not None and len(value) > self.length:
            raise UnstorableTextError(
                f"A text of {len(value)} characters is too long to keep;"
                f" at most {self.length} fit here"
            )
        return storable(value)


class Words(TypeDecorator[str]):
    """A text of any length. A NUL in it is UnstorableTextError on every database."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        """The text; raises UnstorableTextError."""
        return storable(value)


def storable(value: str | None) -> str | None:
    """The text; raises UnstorableTextError for a NUL or half of a surrogate pair in it."""
    if value is not None and not value.isascii():
        try:
            value.encode()
        except UnicodeEncodeError as error:
            raise UnstorableTextError(
                "A text with half of a character in it cannot be kept; type that character anew"
            ) from error
    if value is not None and "\0" in value:
        raise UnstorableTextError(
            "A text with a NUL character in it cannot be kept; take that character out"
        )
    return value
