"""What has to work once something is added; each is run in a copy of the sources that has it.

``python -m tests.adding NAME...`` in such a copy: the packages of the copy, the tests of this folder.
"""

from __future__ import annotations

import asyncio
import json
import shutil
import sys
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from click.testing import CliRunner

from armrise.store.caseload import read as caseload
from armrise.store.caseload.taking.take import take_whole
from armrise.store.database.place import Store
from armrise.store.exchange.into.caseload_file import demo_path, parse
from armrise.store.record.case import CaseRecord
from armrise.store.rules.read import SHIPPED, load
from armrise.tui.command.commands import cli

NOW = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
T = date(2026, 3, 2)
PLACED = [
    {"kind": "visit", "on": -20, "interval": 21},
    {"kind": "step", "on": -20, "stage": "RC2", "direction": "placing"},
]


def said(*words: str) -> str:
    """What the command line prints."""
    ran = CliRunner().invoke(cli, words)
    assert ran.exit_code == 0, ran.output
    return ran.output


def stored(*entries: dict[str, Any], pathway: str = "RC", placed: bool = True) -> Store:
    """A store with one case that a caseload file states, written to disk and opened again."""
    head = {"code": "C-1", "person": "P-1", "side": "LEFT", "pathway": pathway, "registered": -20}
    case = {**head, "entries": [*(PLACED if placed else []), *entries]}
    frame = {"format": "armrise caseload 1", "clinic_date": T.isoformat(), "zone": "UTC", "fictional": True}
    path = Path(mkdtemp(dir=".")) / "added.armrise"
    made = Store.create(path, zone="UTC", fictional=True, clinic_date=T)
    take_whole(made, parse(frame | {"cases": [case]}, "file", load()))
    return Store.open(path)


def record(store: Store) -> CaseRecord:
    return caseload.case(store, "C-1")


def listed(store: Store, *more: str) -> dict[str, Any]:
    """The case as the list prints it."""
    return json.loads(said("list", "--store", str(store.path), "--json", *more))["cases"][0]


def reasons(store: Store) -> dict[str, Any]:
    """Its reasons by their names."""
    return {one["name"]: one for one in listed(store)["reasons"]}


async def screens(store: Store, *presses: tuple[str, ...]) -> list[str]:
    """What is painted after each group of keys, the cursor of the list on the case."""
    from armrise.tui.shell.store_door import StoreDoor
    from tests.quiet import settle, wait_for_quiet
    from tests.tui.form_store import app_on, painted, press

    wait_for_quiet()
    app = app_on(StoreDoor(store, load(), "TK", T, lambda: NOW))
    seen: list[str] = []
    async with app.run_test(size=(100, 40)) as pilot:
        await settle(pilot)
        for keys in presses:
            await press(pilot, *keys)
            seen.append(painted(pilot))
    return seen


def seen(store: Store, *presses: tuple[str, ...]) -> list[str]:
    return asyncio.run(screens(store, *presses))


def kind() -> None:
    """Taken from a file, stored, read back, told in the history, written by the form made from its type."""
    store = stored({"kind": "transport", "on": -3, "by": "bus"})
    assert [entry.by for entry in record(store).transports] == ["bus"]  # type: ignore[attr-defined]
    assert "comes by bus" in seen(store, ("h",))[0]
    form, *_, after = seen(store, ("R", *"transport", "enter"), (*"walk", "f2"), ("h",))
    assert "How the patient comes to the clinic." in form
    assert "comes by walk" in after
    assert [entry.by for entry in record(store).transports] == ["bus", "walk"]  # type: ignore[attr-defined]
    assert "by (needed): one of" in said("fields", "transport")
    assert json.loads(said("schema", "caseload"))["$defs"]["transport"]["required"] == ["kind", "on", "by"]


def measure() -> None:
    """Stated by the rule files, taken, written by its form, drawn, asked for by a criterion."""
    assert "extension strength" in said("rules", "show")
    store = stored({"kind": "measure", "on": -3, "name": "extension_strength", "value": 62, "side": "LEFT"})
    assert [entry.name for entry in record(store).measures] == ["extension_strength"]
    typed = (*"extension", "enter", *"71")
    chart, history, form, _ = seen(
        store, ("g", "4"), ("escape", "h"), ("escape", "R", *"measure", "enter", *typed), ("f2",)
    )
    assert "Extension strength" in chart
    assert "extension strength LEFT: 62" in history
    assert "Will write: extension strength: 71 percent of other side" in form, form
    assert [str(entry.value) for entry in record(store).measures] == ["62", "71"]
    own = Path(shutil.copytree(SHIPPED, "own")) / "RC.toml"
    text = own.read_text(encoding="utf-8")
    own.write_text(text.replace('"external_rotation_strength"', '"extension_strength"'), encoding="utf-8")
    observed = [one["observed"] for one in listed(store, "--rules", "own")["criteria"]]
    assert any("71" in words for words in observed), observed


def reason() -> None:
    """On the list, with the tier its rank gives it."""
    assert "note to follow up" not in reasons(stored())
    noted = stored({"kind": "decision", "on": -1, "about": "other", "note": "ring the school"})
    found = reasons(noted)["note to follow up"]
    assert (found["rank"], found["tier"], found["sentence"]) == (27, "move on", "ring the school")
    assert "note to follow up: rank 27 in move on" in said("rules", "show", "ranks")
    assert "range to watch: degrees lost. note to follow up: nothing" in said("schema", "list")


def screen() -> None:
    """Opened by its name, its key in the list of keys."""

    async def opened() -> str:
        from armrise.tui.shell.store_door import StoreDoor
        from tests.quiet import settle
        from tests.tui.form_store import app_on, painted

        app = app_on(StoreDoor(stored(), load(), "TK", T, lambda: NOW))
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            app.open("RosterScreen")
            await settle(pilot)
            return painted(pilot)

    assert "Who is in today" in asyncio.run(opened())
    assert "roster.leave" in said("keys", "--json")


def pathway() -> None:
    """Placed by a step, on the list under its name, shown with its numbers."""
    placed = {"kind": "step", "on": -20, "stage": "EL1", "direction": "placing"}
    visit = {"kind": "visit", "on": -20, "interval": 21}
    found = listed(stored(visit, placed, pathway="EL", placed=False))
    assert (found["pathway"], found["stage"], found["stage_name"]) == ("EL", "EL1", "Settle")
    assert found["usual_days"] == 10
    assert "usual: 10 days" in said("rules", "show", "EL1")


def stage_figure() -> None:
    """Shown with its source, and what the list counts by."""
    assert "quiet: 4 days (without data is silence) [design of this project; design]" in said(
        "rules", "show", "RC2"
    )
    assert "nothing recorded" in reasons(stored({"kind": "morning", "on": -5, "pain": 1}))
    assert "nothing recorded" not in reasons(stored({"kind": "morning", "on": -3, "pain": 1}))


CHECKS: dict[str, Callable[[], None]] = {
    check.__name__: check for check in (kind, measure, reason, screen, pathway, stage_figure)
}

if __name__ == "__main__":
    assert Path.cwd() in demo_path().parents, f"the packages of the copy are not read, but {demo_path()}"
    for name in sys.argv[1:]:
        CHECKS[name]()
