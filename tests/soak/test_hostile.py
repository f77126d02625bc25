"""A little of the hostile trial: nothing raw comes out, nothing ends in a traceback (UAX #9, UAX #44)."""

from __future__ import annotations

import asyncio
import json
import shutil
from itertools import islice
from pathlib import Path

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.database.place import Store
from armrise.store.rules.read import load
from armrise.tui.app.app import ArmriseApp
from armrise.tui.command.main import run
from armrise.tui.shell.opening import Opening
from armrise.tui.shell.store_door import StoreDoor
from tests.soak.hostile import attacks, raw
from tests.soak.hostile_store import made_hostile
from tests.tui.form_store import NOW, TODAY

SOME = 16
SEED = 20260302


@pytest.fixture(scope="module")
def hostile(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The demonstration, its free words replaced by hostile ones."""
    path = Path(shutil.copy(made, tmp_path_factory.mktemp("hostile") / "demo.armrise"))
    made_hostile(path, SEED)
    return Store.open(path, read_only=True)


def test_command_lines_files_and_variables(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("DATA", "CONFIG", "STATE"):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(tmp_path / name))
    for attack in islice(attacks(SEED, tmp_path), SOME):
        with monkeypatch.context() as patched:
            for name, value in attack.environ.items():
                patched.setenv(name, value)
            code = run(attack.arguments)
        out, err = capsys.readouterr()
        assert code in (0, 1, 2), attack
        assert "Traceback" not in err, attack
        assert "nobody foresaw" not in err, attack
        assert raw(out) == [], attack
        assert raw(err) == [], attack


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
    assert capsys.readouterr().out.startswith("Audit of")


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
