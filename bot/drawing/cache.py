"""What was drawn, kept by its content: the newest up to so many bytes."""

from collections import OrderedDict
from hashlib import blake2b


class PictureCache:
    """Bytes by key; forgets what was longest not asked for."""

    def __init__(self, *, most_bytes: int) -> None:
        self.most_bytes = most_bytes
        self.used_bytes = 0
        self._kept: OrderedDict[bytes, tuple[bytes, ...]] = OrderedDict()

    def __len__(self) -> int:
        return len(self._kept)

    def get(self, key: bytes) -> tuple[bytes, ...] | None:
        """What is kept under ``key``."""
        kept = self._kept.get(key)
        if kept is not None:
            self._kept.move_to_end(key)
        return kept

    def put(self, key: bytes, files: tuple[bytes, ...]) -> None:
        """Keep ``files``, unless they alone are more than may be kept."""
        size = _size(files)
        if key in self._kept or size > self.most_bytes:
            return
        self._kept[key] = files
        self.used_bytes += size
        while self.used_bytes > self.most_bytes:
            _, gone = self._kept.popitem(last=False)
            self.used_bytes -= _size(gone)


def content_key(*parts: object) -> bytes:
    """A key that is the same for the same content; parts are plain values and dataclasses."""
    return blake2b("\x1f".join(repr(part) for part in parts).encode(), digest_size=16).digest()


def _size(files: tuple[bytes, ...]) -> int:
    return sum(len(file) for file in files)
