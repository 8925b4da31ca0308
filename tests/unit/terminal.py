"""A terminal for tests: runs a command of ``python -m bot`` and hands back what it printed."""

from collections.abc import Callable
from pathlib import Path

import pytest

from bot.__main__ import main

Leeward = Callable[..., tuple[int, str, str]]


@pytest.fixture(autouse=True)
def no_settings_from_outside(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for name in ("DISCORD_TOKEN", "LEEWARD_DATABASE", "LEEWARD_KIT"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def leeward(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Runs a command; its status, what it printed and what it complained."""

    def run(*arguments: str) -> tuple[int, str, str]:
        try:
            status = main(list(arguments))
        except SystemExit as ended:
            status = int(ended.code or 0)
        said = capsys.readouterr()
        return status, said.out, said.err

    return run


def assert_one_line(complaint: str) -> None:
    assert complaint.endswith("\n") and complaint.count("\n") == 1, complaint
    assert complaint.rstrip("\n").isprintable() and "Traceback" not in complaint
    assert len(complaint) < 500
