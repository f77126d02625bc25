"""The sweep's queue and minutes as plain text, and their file; common practice for files, no source."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from armrise.store.database.place import StoreError
from armrise.store.exchange.out.minutes import MARK, write_minutes
from armrise.tui.command import main as command


@pytest.mark.parametrize("name", ["due", "minutes"])
def test_the_queue_and_the_minutes_are_printed_for_a_screen_reader(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command.run([name, "--demo"]) == 0
    printed = capsys.readouterr().out
    assert printed.startswith("FICTIONAL CASELOAD")
    assert printed.index("BY-024") < printed.index("BY-042") < printed.index("BY-063")
    assert max(len(line) for line in printed.splitlines()) <= 80
    assert "NOT SIGNED OFF" in printed
    assert ("11 cases to decide" if name == "due" else "0 decided; 11 remain") in printed


def test_as_known_on_an_earlier_day_the_queue_was_another(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.run(["due", "--demo", "--as-of", "2026-02-24"]) == 0
    assert "BY-054" not in capsys.readouterr().out


def test_the_file_is_whole_and_private_and_may_be_written_again(tmp_path: Path) -> None:
    path = tmp_path / "minutes.txt"
    write_minutes(path, "first\n")
    write_minutes(path, "second\n")
    assert path.read_text(encoding="utf-8") == MARK + "second\n"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [p.name for p in tmp_path.iterdir()] == ["minutes.txt"]


def test_a_file_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"cannot write the minutes to .* \(no such file or directory\)"):
        write_minutes(tmp_path / "gone" / "minutes.txt", "text")
