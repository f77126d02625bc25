"""A little of the hostile trial: nothing raw comes out, nothing ends in a traceback (UAX #9, UAX #44)."""

from __future__ import annotations

import asyncio
import json
import shutil
from itertools import islice
from pathlib import Path
from random import Random

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.database.place import Store
from armrise.store.rules.read import load
from armrise.tui.app.app import ArmriseApp
from armrise.tui.command.ending import ended
from armrise.tui.command.main import run
from armrise.tui.shell import fault
from armrise.tui.shell.opening import Opening
from armrise.tui.shell.store_door import StoreDoor
from tests.soak.attacked import DOORS, HUNDRED, Door, turns
from tests.soak.damaged import SMALL
from tests.soak.damages import lasting_demonstration
from tests.soak.doors import command, screens
from tests.soak.doors.command import own_folders
from tests.soak.doors.printed import made_hostile
from tests.soak.hostile import raw
from tests.tui.form_store import NOW, TODAY

SOME = {"variables": 6, "hostile stores printed": 4, "folders of rules": 4, screens.KIND: 1}
"""So many texts are put to a door; 16 where nothing is said."""
SEED = 20260302


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first cases of the demonstration."""
    return lasting_demonstration(tmp_path_factory.mktemp("small"), SMALL)


@pytest.fixture(scope="module")
def hostile(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The demonstration, its free words replaced by hostile ones."""
    path = Path(shutil.copy(made, tmp_path_factory.mktemp("hostile") / "demo.armrise"))
    made_hostile(path, SEED)
    return Store.open(path, read_only=True)


@pytest.mark.parametrize("door", DOORS, ids=lambda door: door.kind)
def test_hostile_texts_at_every_door(
    door: Door, small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in own_folders(tmp_path).items():
        monkeypatch.setenv(name, value)
    monkeypatch.chdir(tmp_path)
    for about, do in islice(door.draw(Random(SEED), tmp_path, small), SOME.get(door.kind, 16)):
        assert do().faults == {}, about


def test_every_door_gets_its_share_of_a_hundred_batches() -> None:
    order = turns()
    assert len(order) == HUNDRED == 100
    assert {door.kind: order.count(door) for door in DOORS} == {door.kind: door.batches for door in DOORS}
    assert min(door.batches for door in DOORS) >= 2


def test_what_is_raw_or_foreseen_by_nobody_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_words: list[str]) -> int:
        print("a\u202eb")
        raise KeyError("a record")

    monkeypatch.setattr(command, "run", lambda words: ended(lambda: broken(words)))
    monkeypatch.setattr(fault, "note", lambda *_: "")
    found = command.given(["list"]).faults
    assert found["a raw sign"] == "U+202E"
    assert found["traceback"].startswith("left with 1: armrise: stopped: a fault nobody foresaw")


@pytest.mark.parametrize(
    "arguments",
    [["list"], ["case", "BY-003"], ["handover", "BY-003"], ["minutes"], ["why", "BY-003"]],
    ids=lambda words: words[0],
)
def test_a_store_that_holds_hostile_words(
    arguments: list[str], hostile: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([*arguments, "--store", str(hostile.path)]) == 0
    out = capsys.readouterr().out
    assert raw(out) == []
    if arguments[0] in ("case", "why"):
        assert run([*arguments, "--store", str(hostile.path), "--json"]) == 0
        data = capsys.readouterr().out
        assert data.isascii()
        assert json.loads(data)


def test_no_line_of_a_listing_is_forged(hostile: Store) -> None:
    """A note with a line break is one line, and says that there was one."""
    record = caseload.case(hostile, "BY-003")
    notes = [entry.note for entry in (*record.sessions, *record.visits, *record.contacts)]
    assert any("<U+" in note for note in notes)
    assert not any("\n" in note for note in notes)


def test_the_page_of_an_audit(hostile: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "audit.html"
    assert run(["audit", "--store", str(hostile.path), "--html", str(page)]) == 0
    assert raw(page.read_text()) == []
    assert capsys.readouterr().out.startswith("Audit written to")


def test_every_line_of_the_screen(hostile: Store) -> None:
    """The list, a case and its history: what the compositor gives to the terminal."""

    door = StoreDoor(hostile, load(), "T\u202eK", TODAY, lambda: NOW)
    app = ArmriseApp(Opening(prepare=lambda: door))
    seen: list[str] = []

    async def look() -> None:
        async with app.run_test(size=(120, 40)) as pilot:
            await app.workers.wait_for_complete()
            await pilot.pause()
            for keys in ([], ["enter"], ["h"]):
                await pilot.press(*keys)
                await pilot.pause()
                await app.workers.wait_for_complete()
                await pilot.pause()
                strips = app.screen._compositor.render_strips()
                seen.append("\n".join(strip.text for strip in strips))

    asyncio.run(look())
    assert [raw(screen) for screen in seen] == [[], [], []]
    assert any("<U+" in screen for screen in seen)
