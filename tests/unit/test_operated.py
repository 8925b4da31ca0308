"""What whoever runs Leeward sets: backups by themselves, the log's form, a port for figures."""

import json
import logging
import sys
import urllib.request
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from pathlib import Path
from urllib.error import HTTPError

import pytest

from bot.chat.figures import Figures
from bot.cli.logs import JsonLines, begin_log
from bot.cli.metrics import metrics_served
from bot.services.upkeep import BACKUP, DAILY, NOBODY, Upkeep
from bot.settings import Settings, settings_from
from bot.wiring import back_up_of
from shared.errors import InputError, StorageError
from storage.backup import verify
from storage.database import Database
from storage.jobs import Jobs
from tests.unit.conftest import HandClock

HERE = 2**60 + 3


def found_in(directory: Path) -> list[Path]:
    return sorted(directory.glob("leeward-backup-*.db"))


async def test_a_backup_is_written_each_day_and_only_so_many_are_kept(
    db: Database, database_url: str, clock: HandClock, tmp_path: Path
) -> None:
    directory = tmp_path / "kept"
    settings = Settings(database=database_url, backups=directory, backups_kept=2)
    back_up = back_up_of(settings)
    assert back_up is not None and back_up_of(Settings(database=database_url)) is None
    kept: partial[Path] = back_up  # pyright: ignore[reportAssignmentType]

    def by_the_clock() -> Path:
        return kept(now=clock())

    upkeep = Upkeep(db, back_up=by_the_clock)
    await upkeep.begin([HERE])
    await upkeep.do_due()
    await upkeep.begin([HERE])  # a restart
    await upkeep.do_due()
    (first,) = found_in(directory)
    assert verify(first).version is not None
    made: list[str] = []
    for _ in range(3):
        clock.advance(seconds=DAILY.total_seconds())
        await upkeep.do_due()
        made.append(found_in(directory)[-1].name)
    assert [path.name for path in found_in(directory)] == made[-2:]
    assert len({first.name, *made}) == 4


async def test_a_backup_that_fails_is_logged_put_off_and_made_later(
    db: Database, clock: HandClock, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    tries: list[str] = []

    def full() -> Path:
        tries.append("tried")
        if len(tries) == 1:
            raise StorageError("The disk is full")
        return tmp_path / "made"

    upkeep = Upkeep(db, back_up=full)
    await upkeep.begin([HERE])
    await upkeep.do_due()
    job = await Jobs(db).get(NOBODY, BACKUP, BACKUP)
    assert job is not None and job.trouble == "The disk is full" and job.failures == 1
    assert "no backup could be written: The disk is full" in caplog.text
    await upkeep.do_due()
    assert tries == ["tried"]  # not at once again
    clock.advance(seconds=60)
    await upkeep.do_due()
    job = await Jobs(db).get(NOBODY, BACKUP, BACKUP)
    assert job is not None and job.trouble is None and len(tries) == 2
    assert job.due_at - clock() == timedelta(days=1)


def record_of(fail: Callable[[], object]) -> logging.LogRecord:
    try:
        fail()
    except ZeroDivisionError:
        return logging.LogRecord(
            "bot.x", logging.ERROR, "f", 1, 'said "%s"\n', ("ü",), sys.exc_info()
        )
    raise AssertionError


def test_a_line_of_the_log_is_an_object_with_its_traceback() -> None:
    line = JsonLines().format(record_of(lambda: 1 / 0))
    assert "\n" not in line
    said = json.loads(line)
    assert (said["level"], said["logger"], said["message"]) == ("ERROR", "bot.x", 'said "ü"\n')
    assert said["time"].endswith("+00:00") and "ZeroDivisionError" in said["traceback"]


def test_the_log_s_form_and_level_are_set(capsys: pytest.CaptureFixture[str]) -> None:
    root = logging.getLogger()
    before = root.handlers[:], root.level
    try:
        begin_log(settings_from({"LEEWARD_LOG": "json", "LEEWARD_LOG_LEVEL": "warning"}))
        logging.getLogger("bot.y").info("quiet")
        logging.getLogger("bot.y").warning("loud")
    finally:
        root.handlers[:], _ = before
        root.setLevel(before[1])
    (line,) = capsys.readouterr().err.splitlines()
    assert json.loads(line)["message"] == "loud"


@pytest.mark.parametrize(
    ("name", "value", "example"),
    [
        ("LEEWARD_LOG", "xml", "LEEWARD_LOG=json"),
        ("LEEWARD_LOG_LEVEL", "loud", "LEEWARD_LOG_LEVEL=INFO"),
        ("LEEWARD_METRICS_PORT", "high", "LEEWARD_METRICS_PORT=9177"),
        ("LEEWARD_METRICS_PORT", "65536", "LEEWARD_METRICS_PORT=9177"),
        ("LEEWARD_BACKUPS_KEPT", "0", "LEEWARD_BACKUPS_KEPT=14"),
    ],
)
def test_a_setting_out_of_bounds_is_a_sentence(name: str, value: str, example: str) -> None:
    with pytest.raises(InputError) as refused:
        settings_from({name: value, "DISCORD_TOKEN": "zzz-secret"})
    assert refused.value.example == example and name in refused.value.sentence
    assert "zzz" not in str(refused.value)


def get(port: int, path: str) -> tuple[int, str]:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=10) as response:
            return response.status, response.read().decode()
    except HTTPError as error:
        return error.code, error.read().decode()


def test_the_port_tells_health_and_figures_and_is_off_by_default() -> None:
    figures, well = Figures(), [False]
    with metrics_served(None, figures, lambda: True) as port:
        assert port is None
    with metrics_served(0, figures, lambda: well[0]) as port:
        assert port is not None
        assert get(port, "/health") == (503, "not serving\n")
        well[0] = True
        assert get(port, "/health") == (200, "serving\n")
        with figures.answers.time():
            logging.getLogger("bot.z").error("a fault")
        figures.waiting.set(3)
        status, text = get(port, "/metrics")
        refused = pytest.raises(InputError, match=f"Port {port} of LEEWARD_METRICS_PORT can't be")
        with refused, metrics_served(port, Figures(), lambda: True):
            pass
    lines = text.splitlines()
    assert status == 200
    assert "leeward_messages_waiting 3.0" in lines and "leeward_ready 1.0" in lines
    assert "leeward_answer_seconds_count 1.0" in lines
    assert 'leeward_log_records_total{level="ERROR"} 1.0' in lines
    logging.getLogger("bot.z").error("after the end")
    assert figures.registry.get_sample_value("leeward_log_records_total", {"level": "ERROR"}) == 1
    with pytest.raises(OSError):
        get(port, "/health")
