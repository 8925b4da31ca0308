"""The systemd unit and the container file: what they start is there, and set as they say."""

import json
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from bot.__main__ import _parser
from bot.settings import settings_from, unknown_settings
from storage.address import address_of

ROOT = Path(__file__).parents[2]
UNIT = ROOT / "bot/deploy/leeward.service"
CONTAINER = ROOT / "bot/deploy/Containerfile"
ANALYZE = shutil.which("systemd-analyze")


def verified(folder: Path, text: str) -> tuple[int, str]:
    """What systemd says of a unit whose program is there."""
    unit = folder / "leeward.service"
    unit.write_text(text.replace("/opt/leeward/.venv/bin/python", sys.executable))
    command = (str(ANALYZE), "verify", str(unit))
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return done.returncode, done.stderr + done.stdout


@pytest.mark.skipif(ANALYZE is None, reason="needs systemd-analyze")
def test_systemd_takes_the_unit_and_would_not_take_a_wrong_one(tmp_path: Path) -> None:
    text = UNIT.read_text()
    status, said = verified(tmp_path, text)
    assert status == 0 and "leeward.service" not in said, said
    _, said = verified(tmp_path, text.replace("TimeoutStopSec=60", "TimeoutStopSec=soon"))
    assert "time value" in said and "soon" in said
    _, said = verified(tmp_path, text.replace("ProtectHome=yes", "ProtectHouse=yes"))
    assert "ProtectHouse" in said


def test_the_unit_starts_the_bot_with_a_database_where_it_may_write() -> None:
    lines = [line.partition("=") for line in UNIT.read_text().splitlines()]
    given = {name: value for name, _, value in lines if name != "Environment"}
    environment = dict(value.split("=", 1) for name, _, value in lines if name == "Environment")
    settings = settings_from(environment)
    assert unknown_settings(environment) == []
    _, *program = shlex.split(given["ExecStart"])
    assert program[:2] == ["-m", "bot"]
    assert _parser().parse_args(program[2:]).command.__name__ == "_run"
    state = Path("/var/lib") / given["StateDirectory"]
    assert Path(address_of(settings.database).where).parent == state
    assert settings.backups is not None and settings.backups.parent == state
    assert Path(environment["MPLCONFIGDIR"]) == Path("/var/cache") / given["CacheDirectory"]
    # Messages on their way have this long before the stop is forced.
    assert int(given["TimeoutStopSec"]) > 20


def test_the_container_copies_what_is_there_and_keeps_its_data_in_the_volume() -> None:
    lines: list[tuple[str, str]] = []
    for line in CONTAINER.read_text().splitlines():
        name, _, rest = line.partition(" ")
        lines.append((name, rest))
    copied = [each for name, rest in lines if name == "COPY" for each in rest.split()[:-1]]
    assert copied and all((ROOT / each).exists() for each in copied)
    rooms = {path.parent.name for path in ROOT.glob("*/__init__.py")} - {"tests"}
    assert rooms <= set(copied)
    given = dict(lines)
    environment = dict(each.split("=", 1) for each in shlex.split(given["ENV"]))
    settings = settings_from(environment)
    assert unknown_settings(environment) == []
    volume = Path(given["VOLUME"])
    assert Path(address_of(settings.database).where).parent == volume
    assert settings.backups is not None and settings.backups.parent == volume
    assert settings.log == "json"
    # Pictures' fonts are looked up once, as the image is made, where the bot may write.
    made = shlex.split(next(rest for name, rest in lines if name == "RUN"))
    places = made[made.index("-o") + 2 :]
    assert set(places) == {str(volume), environment["MPLCONFIGDIR"]}
    assert [rest for name, rest in lines if name == "RUN"][1].startswith("python -c")
    beats = json.loads(given["HEALTHCHECK"].partition("CMD ")[2])
    assert f"http://127.0.0.1:{settings.metrics_port}/health" in beats[-1]
    extra = re.findall(r"'\.\[(\w+)\]'", " ".join(rest for _, rest in lines))
    assert extra == ["postgres"]
    assert (
        extra[0]
        in tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["optional-dependencies"]
    )
    program = json.loads(given["ENTRYPOINT"]) + json.loads(given["CMD"])
    assert program[:3] == ["python", "-m", "bot"]
    assert _parser().parse_args(program[3:]).command.__name__ == "_run"
