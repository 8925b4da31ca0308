"""Settings, read once from the environment by whoever starts Leeward."""

import os
from collections.abc import Mapping
from pathlib import Path

from pydantic import SecretStr

from shared.errors import InputError
from shared.kit import Kit
from shared.kit_file import decode, read_kit
from shared.model import Model

DEMO = Path(__file__).parent / "demo"
DEMO_KIT = DEMO / "kit.toml"
LARGEST_FILE = 1_000_000  # bytes; the demo's kit has about 4,000


class Settings(Model):
    """What Leeward is started with. The token never shows in a repr or a log."""

    token: SecretStr | None = None
    database: str | None = None
    kit: Path = DEMO_KIT
    unhurried: bool = False  # one who measures asks more often than any member may
    draw_in_thread: bool = False  # a simulated Discord can't wait for processes


def settings_from(environment: Mapping[str, str] | None = None) -> Settings:
    """Settings from DISCORD_TOKEN, LEEWARD_DATABASE and LEEWARD_KIT."""
    given = os.environ if environment is None else environment
    token = given.get("DISCORD_TOKEN", "").strip()
    return Settings(
        token=SecretStr(token) if token else None,
        database=given.get("LEEWARD_DATABASE", "").strip() or None,
        kit=Path(given.get("LEEWARD_KIT", "").strip() or DEMO_KIT),
    )


def load_kit(path: Path) -> Kit:
    """The kit in a TOML file. Errors: KitFileError, InputError for a file that can't be read."""
    return read_kit(read_text(path), file=path.name)


def read_text(path: Path) -> str:
    """The text of a file of at most 1 MB. Errors: InputError, one sentence."""
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except OSError as error:
        reason = error.strerror or "it can't be opened"
        raise InputError(
            f"{path} can't be read: {reason.lower()}.", "--kit bot/demo/kit.toml", str(path)
        ) from error
    if len(data) > LARGEST_FILE:
        raise InputError(
            f"{path.name} has more than {LARGEST_FILE:,} bytes, and no file may have more.",
            "--kit bot/demo/kit.toml",
            str(path),
        )
    return decode(data, path.name)
