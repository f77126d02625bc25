"""The passphrase asked for on a screen: to open a caseload, and after a long pause. Nothing gets round it."""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from armrise.store.database.encrypted import keys
from armrise.store.database.place import Store
from armrise.tui.app import idle
from armrise.tui.app.app import ArmriseApp
from armrise.tui.firstrun import screen as firstrun
from armrise.tui.forms.kit.line import Line
from armrise.tui.locked.screen import LockScreen, OpenScreen
from armrise.tui.shell.frame import BURST
from armrise.tui.shell.opening import Opening
from tests.encrypted import PASSPHRASE, cheap_keys, encrypt, needs_the_extra, readable
from tests.quiet import settle
from tests.tui.conftest import settled
from tests.tui.form_store import painted, press

pytestmark = [needs_the_extra, pytest.mark.usefixtures("cheap_keys")]
__all__ = ["cheap_keys"]
ABOUT_SOMEBODY = ("BY-0", "RIGHT", "LEFT", "red flag", "TODAY", "pain")
LONG = 901


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Path:
    """The demo caseload, encrypted."""
    return encrypt(shutil.copy(made, tmp_path / "caseload.armrise"))


async def type_in(pilot: Pilot[Any], words: str) -> None:
    """Type a passphrase and Enter."""
    app = pilot.app
    app.screen.query_one("#passphrase", Line).input.value = words
    await pilot.pause(2 * BURST)  # as long as a hand takes at least
    await press(pilot, "enter")
    await app.workers.wait_for_complete()
    await settle(pilot)


async def test_a_caseload_opens_by_its_passphrase_alone(store: Path) -> None:
    keys._held.clear()
    app = ArmriseApp(Opening(store))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert isinstance(app.screen, OpenScreen)
        await press(pilot, *"q? x")
        field = app.screen.query_one("#passphrase Input", Input)
        assert field.value == "q? x"
        assert "q? x" not in painted(pilot)
        await press(pilot, "ctrl+a", "ctrl+c", "ctrl+x")
        assert "q? x" not in app.clipboard
        for number in ("", " (2 times)", " (3 times)"):
            await type_in(pilot, "four plain words hers")
            assert "Wrong passphrase, or the file is damaged." in painted(pilot)
            assert number in painted(pilot)
            assert not any(words in painted(pilot) for words in ABOUT_SOMEBODY)
        await type_in(pilot, PASSPHRASE)
        await settled(pilot)
        assert "BY-0" in painted(pilot)
        assert len(app.screen_stack) == 1


@pytest.fixture
def opened(store: Path) -> ArmriseApp:
    """The application over the encrypted caseload, its key at hand."""
    return ArmriseApp(Opening(store))


def away(app: ArmriseApp, seconds: float) -> None:
    """Nobody was here for so long."""
    app._touched = time.monotonic() - seconds
    app._here = idle.seconds() - seconds


async def test_after_a_long_pause_nothing_is_shown_before_the_passphrase(opened: ArmriseApp) -> None:
    app = opened
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "c", "n", "4")
        under = app.screen
        away(app, 899)
        app._lock_when_idle()
        assert not app.is_locked
        app._blank_when_idle()
        await settle(pilot)
        away(app, LONG)
        app._lock_when_idle()
        app._lock_when_idle()  # once is enough
        app._blank_when_idle()
        await settle(pilot)
        assert isinstance(app.screen, LockScreen)
        for key in ("escape", "f1", "ctrl+p", "tab", "ctrl+c", "f8", "f8", "q"):
            await press(pilot, key)
            assert isinstance(app.screen, LockScreen) or key == "f8"
            assert not any(words in painted(pilot) for words in ABOUT_SOMEBODY)
        for _ in range(4):
            await type_in(pilot, "no such words at all")
        assert "Nothing is lost by it: type it again. (4 times)" in painted(pilot)
        await type_in(pilot, PASSPHRASE)
        assert app.screen is under
        assert under.query_one("#during").value == "4"  # type: ignore[attr-defined]


async def test_the_first_key_after_the_machine_slept_shows_nothing(tmp_path: Path) -> None:
    made = Store.create(tmp_path / "caseload.armrise", zone="Europe/London").path
    app = ArmriseApp(Opening(encrypt(made)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        app._here = idle.seconds() - LONG  # no second has passed on the other clock
        await press(pilot, "question_mark")
        assert isinstance(app.screen, LockScreen)
        assert len(app.screen_stack) == 2


async def test_a_form_left_behind_the_lock_is_offered_again(opened: ArmriseApp, store: Path) -> None:
    app = opened
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "c", "n", "4")
        away(app, LONG)
        app._lock_when_idle()
        await settle(pilot)
        await press(pilot, "ctrl+q")
    door = app.door
    assert door is not None
    (left,) = door.unwritten()
    kept = door.left_unwritten(left.code, "CheckInScreen")
    assert kept is not None
    assert "4" in kept.fields.values()
    assert not readable(store.parent, left.code)


@pytest.mark.parametrize(
    ("asked", "seconds", "told"),
    [
        ("", 900, ""),  # NIST SP 800-63B (2017), section 4.3.3: 15 minutes
        ("60", 60, ""),
        ("1800", 1800, ""),  # section 4.2.3: 30 minutes
        (
            "59",
            900,
            "ARMRISE_LOCK_AFTER is '59', allowed is 60 to 1800 seconds: the caseload is locked after 900.",
        ),
        ("1801", 900, "allowed is 60 to 1800 seconds"),
        ("never", 900, "allowed is 60 to 1800 seconds"),
    ],
)
def test_a_workplace_may_ask_for_another_pause_within_bounds(
    asked: str, seconds: int, told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ARMRISE_LOCK_AFTER", asked)
    found, said = idle.lock_after()
    assert found == seconds
    assert told in said if told else said == ""


async def test_the_first_run_makes_an_encrypted_caseload(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ARMRISE_ZONE", "Europe/London")
    path = tmp_path / "data" / "caseload.armrise"
    app = ArmriseApp(Opening(path))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1", "T", "K")
        page = app.screen
        page.query_one("#passphrase", Line).input.value = PASSPHRASE
        await settle(pilot)
        assert "Encrypted: a lost passphrase is not replaced by anybody" in painted(pilot)
        assert PASSPHRASE not in painted(pilot)
        await press(pilot, "f2")
        assert "the two are not the same, type both again" in painted(pilot)
        assert not path.exists()
        page.query_one("#again", Line).input.value = PASSPHRASE
        await press(pilot, "f2")
        await settled(pilot)
        assert "No cases yet" in painted(pilot)
        assert app.lock_seconds == 900
    assert Store.open(path).driver.encrypted
    assert not readable(tmp_path, "Europe/London", "SQLite format")


async def test_without_the_extra_the_first_run_asks_for_no_passphrase(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(firstrun, "may_encrypt", lambda _: False)
    monkeypatch.setenv("ARMRISE_ZONE", "Europe/London")
    app = ArmriseApp(Opening(tmp_path / "data" / "caseload.armrise"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1", "T", "K")
        assert "passphrase" not in painted(pilot)
        await press(pilot, "f2")
        await settled(pilot)
        assert not app.door.store.driver.encrypted
        away(app, LONG)
        assert not app._lock_when_idle()


@pytest.mark.parametrize("name", ["open", "locked"])
def test_the_two_screens_as_pictures(
    name: str, snap_compare: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kind = LockScreen if name == "locked" else OpenScreen
    monkeypatch.setattr(kind, "refusal", lambda page, typed: page.WRONG)

    async def asked(pilot: Pilot[Any]) -> None:
        await settled(pilot)
        page = LockScreen() if name == "locked" else OpenScreen(Path("/nowhere/armrise/caseload.armrise"))
        pilot.app.push_screen(page)
        await settle(pilot)
        await type_in(pilot, "no such words at all")

    app = ArmriseApp(Opening(tmp_path / "caseload.armrise"))
    assert snap_compare(app, terminal_size=(80, 24), run_before=asked)
