"""Which room may import what, and what no file of the project may hold."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
NO_SOURCE = {
    ".git",
    ".venv",
    "venv",
    "build",
    "dist",
    "__pycache__",
    ".hypothesis",
    ".pytest_cache",
    ".ruff_cache",
}
HEAVY = ("sqlmodel", "sqlalchemy", "pydantic")


def imports(file: Path) -> Iterator[str]:
    """Every module a file imports, at its head or inside a function."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: a relative import hides where it leads"
            yield node.module or ""


def python(code: str) -> str:
    """What a fresh interpreter prints."""
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


def test_the_import_contracts_of_the_project_hold() -> None:
    linter = pytest.importorskip("importlinter.cli", reason="import-linter is not installed")
    code = f"import sys; from {linter.__name__} import lint_imports; sys.exit(lint_imports(no_cache=True))"
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout


def test_the_clinical_rules_import_the_standard_library_and_themselves_alone() -> None:
    allowed = {*sys.stdlib_module_names, "pendulum"}
    for file in (ROOT / "store" / "clinic").rglob("*.py"):
        foreign = [
            name
            for name in imports(file)
            if name.split(".")[0] not in allowed and not f"{name}.".startswith("store.clinic.")
        ]
        assert foreign == [], file.name


def test_the_clinical_rules_read_no_clock_and_no_file() -> None:
    """Pure functions of the record, the rule version and the clinic date."""
    barred = {"sqlite3", "os", "pathlib", "time", "io", "json", "tomllib", "random", "locale"}
    asking = re.compile(r"\b(?:date\.today|datetime\.(?:now|utcnow|today)|pendulum\.(?:now|today)|open)\(")
    for file in (ROOT / "store" / "clinic").rglob("*.py"):
        assert barred.isdisjoint(name.split(".")[0] for name in imports(file)), file.name
        assert asking.search(file.read_text(encoding="utf-8")) is None, file.name


@pytest.mark.parametrize("room", ["store", "tui"])
def test_no_room_imports_one_above_it(room: str) -> None:
    barred = {"store": ("tui", "textual", "click", "tests"), "tui": ("store.tables", "tests")}[room]
    for file in (ROOT / room).rglob("*.py"):
        for name in imports(file):
            assert not any(name == one or name.startswith(f"{one}.") for one in barred), (file.name, name)


def test_only_writing_knows_the_table_classes() -> None:
    """Reading is plain SQL: the table classes cost twice what the screen library costs to import."""
    knowing = {
        file.name
        for file in (ROOT / "store").rglob("*.py")
        if any(name.split(".")[0] in HEAVY for name in imports(file))
    }
    assert knowing <= {"tables.py", "ledger.py"}


def test_the_list_opens_without_the_table_classes() -> None:
    """From the command to the rows of the demo: the frame must not wait for what only writing needs."""
    printed = python(
        "import asyncio, sys\n"
        "from tui import command\n"
        "from tui.app import ArmriseApp\n"
        "from tui.opening import Opening\n"
        "from tui.intake import filled, load_rules, throwaway\n"
        "def prepare():\n"
        "    from store.exchange.caseload_file import demo_path, read\n"
        "    return filled(read(demo_path(), load_rules()), folder)\n"
        "def loaded(when):\n"
        f"    print(when, [name for name in {HEAVY!r} if name in sys.modules])\n"
        "async def run():\n"
        "    app = ArmriseApp(Opening(demo=True, prepare=prepare))\n"
        "    opened = app.opened\n"
        "    def told(door):\n"
        "        opened(door)\n"
        "        loaded(f'{len(door.standings())} rows')\n"
        "    app.opened = told\n"
        "    loaded('imported')\n"
        "    async with app.run_test(size=(120, 40)) as pilot:\n"
        "        for _ in range(600):\n"
        "            if app.door is not None or app.broken:\n"
        "                break\n"
        "            await pilot.pause(0.05)\n"
        "with throwaway() as folder:\n"
        "    asyncio.run(run())\n"
    )
    assert printed.splitlines() == ["imported []", "36 rows []"]


def test_the_list_prints_without_screen_and_table_classes() -> None:
    heavy = (*HEAVY, "textual", "rich")
    printed = python(
        "import sys\n"
        "from tui import command\n"
        "command.run(['list', '--demo', '--json'])\n"
        f"print('loaded', [name for name in {heavy!r} if name in sys.modules])\n"
    )
    assert printed.splitlines()[-1] == "loaded []"


def source_files() -> Iterator[Path]:
    """The files of the project, as they lie there."""
    for path in sorted(ROOT.rglob("*")):
        if path.is_file() and NO_SOURCE.isdisjoint(path.relative_to(ROOT).parts):
            yield path


def test_no_file_holds_the_path_of_a_machine() -> None:
    """A path into somebody's home, a mounted disk or a temporary folder works on one machine only."""
    folders = "|".join(("home", "Users", "root", "work", "mnt", "opt", "tmp", "private"))
    path = re.compile(rf"(?<![\w.~*/>-])/(?:{folders})/[\w.-]+|[A-Z]:\\\\?Users")
    found: list[str] = []
    for file in source_files():
        try:
            lines = file.read_text(encoding="utf-8").splitlines()
        except UnicodeDecodeError:
            continue
        name = file.relative_to(ROOT)
        found += [
            f"{name}:{at}: {line.strip()[:80]}" for at, line in enumerate(lines, 1) if path.search(line)
        ]
    assert found == []
