"""Which of several processes serves a community, as Discord deals its servers out."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from shared.model import Model

ID_BITS = 22  # below the time in a server's id; Discord's documented rule for shards


class Shard(Model):
    """Number ``number`` of ``count`` processes, from 0; the first does what is nobody's own."""

    number: Annotated[int, Field(ge=0)] = 0
    count: Annotated[int, Field(ge=1)] = 1

    @model_validator(mode="after")
    def _is_one_of_them(self) -> Self:
        if self.number >= self.count:
            raise ValueError("the last of them is count - 1")
        return self

    @property
    def is_first(self) -> bool:
        """Whether this is the one that does what only one should do."""
        return self.number == 0

    @property
    def is_alone(self) -> bool:
        """Whether it serves everybody."""
        return self.count == 1


ALONE = Shard()


def shard_of(text: str) -> Shard:
    """A shard as it is written, such as ``0/2``. Raises ValueError."""
    number, slash, count = text.partition("/")
    if not slash or not (number.isascii() and count.isascii()):
        raise ValueError("a number, a stroke and how many there are")
    return Shard(number=int(number), count=int(count))
