"""A picture that can be read as well as seen."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Picture:
    """A PNG with its alt text: what it shows, in words."""

    png: bytes
    alt: str
