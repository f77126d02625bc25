"""In a real terminal: nothing of a case in its title or left on it, and a killed process loses no entry.

Practice note 6.3 on the privacy of the screen; common practice, no source, on a process that is killed.
"""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from armrise.store.database import desk
from armrise.store.database.place import Store
from armrise.tui.shell.door import Door
from armrise.tui.shell.store_door import StoreDoor
from tests.tui.form_store import NOW, TODAY, newest
from tests.tui.terminal import ENTERED, LEFT, Terminal, run

CASE = "BY-007"
OPEN = """
from datetime import date
from pathlib import Path
from armrise.tui.app.app import open_board
raise SystemExit(open_board(store_path=Path({path!r}), as_of=date(2026, 3, 2), author="TK"))
"""
HEARD = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"
"""A background job of a shell ignores an interrupt, and hands that on."""
FAULT = """
from armrise.tui.board.board import BoardScreen
def fails(self):
    said = "the record of " + self.in_view().code + " and its note"
    raise KeyError(said)
BoardScreen.action_sort = fails
"""


def environ(tmp_path: Path) -> dict[str, str]:
    """Folders of the test's own."""
    return {f"XDG_{name}_HOME": str(tmp_path / name.lower()) for name in ("DATA", "CONFIG", "STATE", "CACHE")}


def private(terminal: Terminal) -> None:
    """The alternate screen was entered and left; nothing about anybody stands outside it or in a title."""
    assert terminal.sent.count(ENTERED) >= 1
    assert terminal.sent.count(LEFT) >= 1
    assert terminal.sent.rindex(LEFT) > terminal.sent.rindex(ENTERED)
    for words in ("BY-0", "red flag", "Base load", "RIGHT"):
        assert words not in terminal.left_on_screen()
        assert not any(words.encode() in title for title in terminal.titles)


@pytest.mark.parametrize("how", ["ctrl+q", "SIGHUP", "ctrl+q in a form"])
def test_leaving_clears_the_screen(how: str, door: Door, tmp_path: Path) -> None:
    with run(OPEN.format(path=str(door.store.path)), environ(tmp_path)) as terminal:
        terminal.until(CASE)
        if how == "ctrl+q":
            terminal.press("\x11")
        elif how == "ctrl+q in a form":
            terminal.press("c")
            terminal.until("Nothing typed yet")
            terminal.press("n")
            terminal.until("nothing new")
            terminal.press("4")
            terminal.until("Will write")
            terminal.press("\x11")
        else:
            os.kill(terminal.process.pid, getattr(signal, how))
        assert terminal.ended() == 0
        private(terminal)
    kept = desk.drafts(door.store, "TK")
    assert [form.form for form in kept] == (["CheckInScreen"] if "form" in how else [])


@pytest.mark.parametrize("how", ["SIGINT", "SIGTERM"])
def test_a_signal_in_a_form_keeps_what_was_typed_and_leaves_the_terminal_in_order(
    how: str, door: Door, tmp_path: Path
) -> None:
    """Stopped from outside, by a job's end or a signing out: as q leaves, and nothing typed is lost."""
    with run(HEARD + OPEN.format(path=str(door.store.path)), environ(tmp_path)) as terminal:
        was = terminal.modes()
        terminal.until(CASE)
        terminal.press("c")
        terminal.until("Nothing typed yet")
        terminal.press("n")
        terminal.until("nothing new")
        terminal.press("4")
        terminal.until("Will write")
        assert terminal.modes() != was, "the program reads key by key"
        os.kill(terminal.process.pid, getattr(signal, how))
        assert terminal.ended() == 0
        private(terminal)
        assert terminal.modes() == was, "it echoes and reads by lines again"
        assert terminal.left_on() == set(), "no mouse, lines wrapped, a cursor that is seen"
        assert "Traceback" not in terminal.left_on_screen()
    (kept,) = desk.drafts(door.store, "TK")
    assert kept.form == "CheckInScreen"
    left = desk.draft_of(door.store, "TK", kept.code, kept.form)
    assert left is not None
    assert "4" in left.fields.values()


def test_a_fault_nobody_foresaw_says_one_sentence_and_nothing_of_a_case(door: Door, tmp_path: Path) -> None:
    with run(FAULT + OPEN.format(path=str(door.store.path)), environ(tmp_path)) as terminal:
        terminal.until(CASE)
        terminal.press("S")
        assert terminal.ended() == 1
        private(terminal)
        said = " ".join(terminal.left_on_screen().split())
        assert "armrise stopped: a fault nobody foresaw (KeyError" in said
        assert "Traceback" not in said
        assert "its note" not in said
    (log,) = tmp_path.rglob("faults.log")
    noted = log.read_text()
    assert "KeyError" in noted
    assert "in_view" not in noted
    assert "fails" in noted
    assert "note" not in noted
    assert "BY-0" not in noted
    assert log.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("keys", ["n4", "y3"], ids=["check-in", "red-flag list above it"])
def test_a_process_killed_in_a_form_leaves_the_store_whole_and_the_draft_there(
    keys: str, door: Door, tmp_path: Path
) -> None:
    """Killed without a chance to do anything: no entry is half there, and the typing waits in a new start."""
    before = newest(door)
    form = "CheckInScreen" if keys == "n4" else "CheckInScreen:red-flag list"
    with run(OPEN.format(path=str(door.store.path)), environ(tmp_path)) as terminal:
        terminal.until(CASE)
        terminal.press("c")
        terminal.until("Nothing typed yet")
        terminal.press(keys[0])
        terminal.until("nothing new" if keys[0] == "n" else "Red-flag screen")
        terminal.press(keys[1])
        waited = 0
        while not any(kept.form == form for kept in desk.drafts(door.store, "TK")):
            terminal.take(0.1)
            waited += 1
            assert waited < 300
        os.kill(terminal.process.pid, signal.SIGKILL)
        assert terminal.ended() == -signal.SIGKILL
    again = Store.open(door.store.path)
    with again.reading() as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert newest(StoreDoor(again, door.rules, "TK", TODAY, lambda: NOW)) == before
    with run(OPEN.format(path=str(again.path)), environ(tmp_path)) as terminal:
        terminal.until("unwritten: N")
        terminal.press("N")
        terminal.until("Check-in")
        terminal.press("q")  # back to the list
        terminal.until(CASE)
        terminal.press("q")
        assert terminal.ended() == 0
        private(terminal)
