"""Settings, read once from the environment by whoever starts Leeward."""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, SecretStr, ValidationError

from shared.errors import InputError
from shared.kit import Kit
from shared.kit_file import decode, read_kit
from shared.model import Model
from shared.shard import ALONE, Shard, shard_of

DEMO = Path(__file__).parent / "demo"
DEMO_KIT = DEMO / "kit.toml"
LARGEST_FILE = 1_000_000  # bytes; the demo's kit has about 4,000


VARIABLES = {
    "database": "LEEWARD_DATABASE",
    "kit": "LEEWARD_KIT",
    "backups": "LEEWARD_BACKUPS",
    "backups_kept": "LEEWARD_BACKUPS_KEPT",
    "log": "LEEWARD_LOG",
    "log_level": "LEEWARD_LOG_LEVEL",
    "metrics_port": "LEEWARD_METRICS_PORT",
    "shard": "LEEWARD_SHARD",
}
EXAMPLES = {
    "backups_kept": "LEEWARD_BACKUPS_KEPT=14",
    "log": "LEEWARD_LOG=json",
    "log_level": "LEEWARD_LOG_LEVEL=INFO",
    "metrics_port": "LEEWARD_METRICS_PORT=9177",
    "shard": "LEEWARD_SHARD=0/2",
}


def _shard(given: object) -> object:
    return shard_of(given) if isinstance(given, str) else given


class Settings(Model):
    """What Leeward is started with. The token never shows in a repr or a log."""

    token: SecretStr | None = None
    database: str | None = None
    kit: Path = DEMO_KIT
    backups: Path | None = None
    backups_kept: Annotated[int, Field(ge=1)] = 14
    log: Literal["text", "json"] = "text"
    log_level: Literal["DEBUG", "INFO", "WARNING", "ERROR"] = "INFO"
    metrics_port: Annotated[int, Field(ge=0, le=65535)] | None = None
    shard: Annotated[Shard, BeforeValidator(_shard)] = ALONE
    unhurried: bool = False  # one who measures asks more often than any member may
    one_process: bool = False  # pictures and the law in threads: a simulated Discord waits for none


def settings_from(environment: Mapping[str, str] | None = None) -> Settings:
    """Settings from DISCORD_TOKEN and the variables that begin with LEEWARD_.

    Errors: InputError for a value that a setting can't have.
    """
    given = os.environ if environment is None else environment
    token = given.get("DISCORD_TOKEN", "").strip()
    values: dict[str, Any] = {"token": SecretStr(token)} if token else {}
    for name, variable in VARIABLES.items():
        text = given.get(variable, "").strip()
        if text:
            values[name] = text.upper() if name == "log_level" else text
    try:
        return Settings.model_validate(values)
    except ValidationError as error:
        name = str(error.errors()[0]["loc"][0])
        raise InputError(
            f"{VARIABLES.get(name, name)} can't be what it is set to.", EXAMPLES[name]
        ) from None


def unknown_settings(environment: Mapping[str, str] | None = None) -> list[str]:
    """Variables that look like settings and are none: one mistyped would be passed over."""
    given = os.environ if environment is None else environment
    named = {"DISCORD_TOKEN", *VARIABLES.values()}
    return sorted(name for name in given if name.startswith("LEEWARD_") and name not in named)


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
