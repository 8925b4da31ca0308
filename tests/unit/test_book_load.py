"""``python -m bot load``: the same as /event load, from a terminal."""

import asyncio
from pathlib import Path

import pytest

from bot.__main__ import main
from bot.services.book.choices import Choices
from bot.settings import DEMO
from shared.book import Event
from shared.keys import EventKey
from storage.database import Database
from tests.unit.book_kit import open_book
from tests.unit.test_book_service import KITS

CUP = DEMO / "cup.toml"


@pytest.fixture
def url(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    found = f"sqlite:///{tmp_path / 'load.sqlite3'}"
    monkeypatch.setenv("LEEWARD_DATABASE", found)
    return found


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, list[str], list[str]]:
    status = main(["load", *arguments])
    out, err = capsys.readouterr()
    return status, out.splitlines(), err.splitlines()


def kept(url: str, community: int) -> tuple[Event, EventKey | None]:
    async def read() -> tuple[Event, EventKey | None]:
        db = await Database.open(url)
        try:
            event = await open_book(db, KITS).event(community)
            return event, await Choices(db).event(community)
        finally:
            await db.close()

    return asyncio.run(read())


def test_a_file_is_loaded_for_the_community_named(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, err = said(capsys, str(CUP), "--community", "77")
    assert (status, err) == (0, [])
    assert out[0].startswith("Windlass Cup, community 77, ")
    assert out[1] == "A new event: 9 holes, 22 lines."
    event, current = kept(url, 77)
    assert event.name == "Windlass Cup"
    assert current is not None and current.slug == "windlass-cup"


def test_the_only_community_need_not_be_named_and_nothing_changes(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, err = said(capsys, str(CUP))
    assert (status, out) == (2, [])
    assert err[0].startswith("Say for which community with --community and its server's id; none")
    said(capsys, str(CUP), "--community", "77")
    status, out, _ = said(capsys, str(CUP))
    assert (status, out[1]) == (
        0,
        "Nothing changed: the book already says all of this (9 holes, 22 lines).",
    )
    said(capsys, str(CUP), "--community", "78")
    status, _, err = said(capsys, str(CUP))
    assert status == 2 and "they are 77, 78." in err[0]


def test_every_problem_of_a_file_is_a_line_on_stderr_and_nothing_is_loaded(
    url: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(CUP.read_text().replace("par = 5", "par = 50").replace("from 10", "from Mars"))
    status, out, err = said(capsys, str(bad), "--community", "77")
    assert (status, out) == (2, [])
    assert len(err) == 4
    assert err[0].startswith("bad.toml, line ") and "holes[Slipway].winds[3].wind: “Mars”" in err[0]
    status, _, err = said(capsys, str(CUP))
    assert status == 2 and "none has a book yet" in err[0]


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("none.toml", None, "can't be read"),
        ("big.toml", b"#" * 5_000_000, "1,000,000 bytes"),
        ("deep.toml", b"a = " + b"[" * 100_000, "nest too deep"),
        ("odd.toml", b'\xff\xfen\x00="\x00', "not UTF-8"),
        ("color.toml", b'name = "\x1b[31m"', "control character"),
    ],
)
def test_a_file_that_cant_be_used_is_one_line(
    url: str,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    name: str,
    data: bytes | None,
    says: str,
) -> None:
    path = tmp_path / name
    if data is not None:
        path.write_bytes(data)
    status, out, err = said(capsys, str(path), "--community", "77")
    assert (status, out, len(err)) == (2, [], 1)
    assert says in err[0]
    assert "\x1b" not in err[0]


@pytest.mark.parametrize("community", ["-1", str(2**63), "9" * 40])
def test_an_id_that_is_none_is_refused(
    url: str, capsys: pytest.CaptureFixture[str], community: str
) -> None:
    status, _, err = said(capsys, str(CUP), f"--community={community}")
    assert status == 2 and err[0].startswith("A community is named by its server's id")


def test_what_stands_against_a_file_is_named_and_kept_or_replaced(
    url: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    said(capsys, str(CUP), "--community", "77")
    text = CUP.read_text()
    short = tmp_path / "short.toml"
    at = text.rindex("[[holes.lines]]")
    short.write_text(text[:at].replace("the safe one", "the sure one"))
    status, out, err = said(capsys, str(short))
    assert (status, out) == (2, [])
    assert err[0] == "Missing from the file: line 9B."
    assert err[1].startswith("Nothing was loaded: say --keep to leave these as they are")
    status, out, _ = said(capsys, str(short), "--keep")
    assert (status, out[1]) == (0, "Changed: line 1B (last by command line).")
    assert "Missing from the file: line 9B." in out
    event, _ = kept(url, 77)
    assert [line.variant for line in event.holes[8].lines] == ["A", "B"]
    status, out, _ = said(capsys, str(short), "--replace")
    assert (status, out[1]) == (0, "Removed: line 9B (last by command line).")
