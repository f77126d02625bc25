"""The first run: cautions, a caseload of one's own, the demo, or nothing at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.store.database.place import Store
from armrise.tui.app.app import ArmriseApp
from armrise.tui.firstrun import screen
from armrise.tui.firstrun.screen import FirstRunScreen, OwnCaseloadScreen
from armrise.tui.firstrun.words import initials_fault, initials_warning, near_zones, zone_fault
from armrise.tui.forms.kit.line import Line
from armrise.tui.shell import opening
from armrise.tui.shell.opening import Opening
from tests.quiet import settle
from tests.tui.conftest import settled
from tests.tui.form_store import painted


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ARMRISE_ZONE", "Europe/London")
    return tmp_path / "data" / "caseload.armrise"


async def begun(pilot: Pilot[Any], *keys: str) -> None:
    """The first page, and some keys."""
    await settled(pilot)
    for key in keys:
        await pilot.press(key)
        await settle(pilot)


async def test_nothing_is_made_before_it_is_asked_for(path: Path) -> None:
    app = ArmriseApp(Opening(path))
    async with app.run_test(size=(80, 24)) as pilot:
        await begun(pilot)
        assert isinstance(app.screen, FirstRunScreen)
        shown = painted(pilot)
        for words in (
            "Supports and never replaces clinical judgement",
            "surgeon's orders prevail",
            "a clean list rules nothing out",
            "NOT SIGNED OFF",
        ):
            assert words in shown
        await pilot.press("1", "T", "K")
        await settle(pilot)
        assert "Will make: an empty caseload that counts its days in Europe/London" in painted(pilot)
        await pilot.press("escape")
        await settle(pilot)
        await pilot.press("q")
    assert not path.parent.exists()


async def test_a_caseload_of_ones_own_is_made_with_zone_and_initials(path: Path) -> None:
    app = ArmriseApp(Opening(path))
    async with app.run_test(size=(80, 24)) as pilot:
        await begun(pilot, "1", "T", "K", "f2")
        assert len(app.screen_stack) == 1
        assert app.door.author == "TK"
        assert "No cases yet" in painted(pilot)
    store = Store.open(path)
    assert (store.zone, store.author, store.fictional) == ("Europe/London", "TK", False)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    with store.reading() as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


async def test_a_zone_that_is_none_is_refused_with_the_nearest(path: Path) -> None:
    app = ArmriseApp(Opening(path))
    async with app.run_test(size=(80, 24)) as pilot:
        await begun(pilot, "1", "T", "K")
        app.screen.query_one("#zone", Line).input.value = "london"
        await begun(pilot, "f2")
        assert isinstance(app.screen, OwnCaseloadScreen)
        shown = painted(pilot)
        assert 'zone: "london" is not known; near it: Europe/London' in shown
        assert app.screen.query_one("#zone", Line).value == "london"
        assert app.screen.query_one("#initials", Line).value == "TK"
    assert not path.exists()


async def test_a_machine_without_a_place_proposes_none(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ARMRISE_ZONE", "UTC")
    app = ArmriseApp(Opening(path))
    async with app.run_test(size=(80, 24)) as pilot:
        await begun(pilot, "1")
        assert app.screen.query_one("#zone", Line).value == ""
        await begun(pilot, "f2")
        assert "zone: type the clinic's region and town" in painted(pilot)
    assert not path.exists()


async def test_a_folder_that_cannot_be_written_says_so_and_keeps_what_was_typed(
    path: Path, tmp_path: Path
) -> None:
    (tmp_path / "data").write_text("a file where a folder should be")
    app = ArmriseApp(Opening(path))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await begun(pilot, "1", "T", "K", "f2")
        assert "cannot make a store in" in painted(pilot)
        assert app.screen.query_one("#initials", Line).value == "TK"


async def test_the_demo_of_the_first_run_leaves_nothing(path: Path) -> None:
    app = ArmriseApp(Opening(path))
    with app.kept:
        async with app.run_test(size=(80, 24)) as pilot:
            await begun(pilot, "2")
            await settled(pilot)
            assert "FICTIONAL CASELOAD" in painted(pilot)
            folder = app.door.store.path.parent
            assert folder.exists()
    assert not folder.exists()
    assert not path.exists()


def test_the_pages_as_pictures(snap_compare: Any, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert snap_compare(ArmriseApp(Opening(path)), terminal_size=(80, 24), run_before=begun)


def test_the_page_of_ones_own_as_a_picture(snap_compare: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ARMRISE_ZONE", "Europe/London")
    monkeypatch.setattr(screen, "may_encrypt", lambda _: True)  # whether it is installed here or not

    async def typed(pilot: Pilot[Any]) -> None:
        await begun(pilot, "1", *"Taylor")

    app = ArmriseApp(Opening(Path("/nowhere/armrise/caseload.armrise")))
    assert snap_compare(app, terminal_size=(80, 24), run_before=typed)


# the words


@pytest.mark.parametrize(
    ("typed", "near"),
    [("london", "Europe/London"), ("Europe/Londn", "Europe/London"), ("new york", "America/New_York")],
)
def test_near_zones_are_found_by_town_and_by_name(typed: str, near: str) -> None:
    assert near in near_zones(typed)
    assert near in zone_fault(typed)


def test_a_zone_is_a_region_and_a_town() -> None:
    assert zone_fault("Europe/London") == ""
    assert "allowed is a region and town" in zone_fault("??")


@pytest.mark.parametrize(("typed", "wrong"), [("", True), ("T", False), ("T" * 12, False), ("T" * 13, True)])
def test_initials_are_one_to_twelve_characters(typed: str, wrong: bool) -> None:
    assert bool(initials_fault(typed)) is wrong


@pytest.mark.parametrize(
    ("typed", "warned"), [("TK", False), ("TK2", False), ("Taylor", True), ("T Kay", True)]
)
def test_a_name_is_warned_about(typed: str, warned: bool) -> None:
    assert bool(initials_warning(typed)) is warned


# whose entries


def test_given_initials_go_before_the_environment_and_those_before_the_remembered(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert opening.author(False, "", "TK") == "TK"
    monkeypatch.setenv("ARMRISE_AUTHOR", "AB")
    assert opening.author(False, "", "TK") == "AB"
    assert opening.author(False, "CD", "TK") == "CD"
    assert opening.author(True) == "AB"


def test_the_demo_is_written_by_nobody_real(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("ARMRISE_AUTHOR", raising=False)
    assert opening.author(True, "", "TK") == "demo"
    assert opening.author(False) == os.environ.get("USER", opening.author(False))[:12]
