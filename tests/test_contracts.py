"""Which room may import what, and what no file of the project may hold."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from graphlib import TopologicalSorter
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
    "snapshot_report.html",
}
HEAVY = ("sqlmodel", "sqlalchemy", "pydantic")


@cache
def imports(file: Path) -> tuple[str, ...]:
    """Every module a file imports, at its head, inside a function or for typing only; read once."""
    return tuple(_imports(file))


def _imports(file: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: a relative import hides where it leads"
            yield node.module or ""
            yield from (f"{node.module}.{name.name}" for name in node.names)


def modules() -> dict[str, Path]:
    """Every file of the two packages by the name it is imported by."""
    files = [file for room in ("store", "tui") for file in (ROOT / room).rglob("*.py")]
    return {".".join(("armrise", *_parts(file))): file for file in files}


def _parts(file: Path) -> tuple[str, ...]:
    parts = file.relative_to(ROOT).with_suffix("").parts
    return parts[:-1] if parts[-1] == "__init__" else parts


def test_no_file_leads_back_to_itself() -> None:
    """Imports inside functions and for typing count too; the linter reads layers and passes over circles."""
    known = modules()
    graph = {
        name: {told for told in imports(file) if told in known and told != name}
        for name, file in known.items()
    }
    order = list(TopologicalSorter(graph).static_order())  # raises CycleError, which names the circle
    assert len(order) == len(known) > 300


def test_a_circle_is_found(tmp_path: Path) -> None:
    """The reading sees an import inside a function and one for typing."""
    file = tmp_path / "a.py"
    file.write_text("if TYPE_CHECKING:\n    from armrise.tui import b\ndef f():\n    import armrise.tui.c\n")
    assert set(imports(file)) == {"armrise.tui", "armrise.tui.b", "armrise.tui.c"}


def test_every_room_is_in_the_wheel_and_says_what_it_holds() -> None:
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"][
        "packages"
    ]
    rooms = {name: file for name, file in modules().items() if file.name == "__init__.py"}
    assert sorted(told) == sorted(rooms)
    silent = [n for n, file in rooms.items() if not ast.get_docstring(ast.parse(file.read_text("utf-8")))]
    assert silent == []


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
    """And the record and the rules they are functions of."""
    allowed = {*sys.stdlib_module_names, "pendulum"}
    pure = tuple(f"armrise.store.{room}." for room in ("clinic", "entries", "record", "rules"))
    for file in (ROOT / "store" / "clinic").rglob("*.py"):
        foreign = [
            name for name in imports(file) if name.split(".")[0] not in allowed and not name.startswith(pure)
        ]
        assert foreign == [], file.name


def test_the_clinical_rules_read_no_clock_and_no_file() -> None:
    """Pure functions of the record, the rule version and the clinic date."""
    barred = {"sqlite3", "os", "pathlib", "time", "io", "json", "tomllib", "random", "locale"}
    asking = re.compile(r"\b(?:date\.today|datetime\.(?:now|utcnow|today)|pendulum\.(?:now|today)|open)\(")
    for file in (ROOT / "store" / "clinic").rglob("*.py"):
        assert barred.isdisjoint(name.split(".")[0] for name in imports(file)), file.name
        assert asking.search(file.read_text(encoding="utf-8")) is None, file.name


def guesses(text: str) -> list[str]:
    """Where a source tries whether a door, the application or the list has something, or drops their type."""
    found: list[str] = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("getattr", "hasattr"):
            of = ast.unparse(node.args[0])
        elif isinstance(node, ast.arg) and node.annotation and ast.unparse(node.annotation) == "Any":
            of = node.arg
        elif isinstance(node, ast.AnnAssign) and ast.unparse(node.annotation) == "Any":
            of = ast.unparse(node.value) if node.value else ast.unparse(node.target)
        else:
            continue
        if re.search(r"\b(app|board|door|frame|store)$", of):
            found.append(ast.unparse(node))
    return found


def test_what_a_door_and_the_application_have_is_declared() -> None:
    """Nobody tries whether it is there: a screen asks what ``Door`` and ``Frame`` say."""
    for file in (ROOT / "tui").rglob("*.py"):
        assert guesses(file.read_text(encoding="utf-8")) == [], file


def test_a_guess_is_found() -> None:
    guessed = [
        "getattr(self.app, 'door', None)",
        "hasattr(door, 'store')",
        "getattr(self.door.store, 'lasting', True)",
        "app: Any = self.app",
        "door: Any",
    ]
    assert [guess for one in guessed for guess in guesses(one)] == guessed
    assert guesses("def show(door: Any): ...") == ["door: Any"]


@pytest.mark.parametrize("room", ["store", "tui"])
def test_no_room_imports_one_above_it(room: str) -> None:
    barred = {
        "store": ("armrise.tui", "textual", "click", "tests"),
        "tui": ("armrise.store.database.classes.tables", "tests"),
    }[room]
    for file in (ROOT / room).rglob("*.py"):
        for name in imports(file):
            assert not any(name == one or name.startswith(f"{one}.") for one in barred), (file.name, name)


def test_only_writing_and_one_case_know_the_table_classes() -> None:
    """The list is read by plain SQL: the table classes cost twice what the screen library costs to import."""
    knowing = {
        file.name
        for file in (ROOT / "store").rglob("*.py")
        if any(name.split(".")[0] in HEAVY for name in imports(file))
    }
    assert knowing <= {"engine.py", "tables.py", "write.py", "timeline.py", "read.py"}
    head = ast.parse((ROOT / "store" / "caseload" / "read.py").read_text(encoding="utf-8")).body
    early = [node.module or "" for node in head if isinstance(node, ast.ImportFrom)]
    assert not any(name.startswith(HEAVY) or name.endswith(("tables", "engine")) for name in early)


def test_what_commands_say_goes_out_by_one_door() -> None:
    """Only there is every sign that a terminal would obey shown as what it is."""
    echoing = [path.name for path in (ROOT / "tui").rglob("*.py") if "click.echo(" in path.read_text("utf-8")]
    assert echoing == ["printing.py"]


def test_one_room_knows_what_time_it_is() -> None:
    """Zones, offsets and the present come from the clinic's clock alone, and so does pendulum."""
    asking = re.compile(
        r"datetime\.(?:now|utcnow|today)\b|date\.today\b|\.astimezone\(|ZoneInfo|"
        r"(?:import|from) (?:pendulum|zoneinfo)\b"
    )
    files = [file for room in ("store", "tui") for file in (ROOT / room).rglob("*.py")]
    asked = {str(f.relative_to(ROOT)) for f in files if asking.search(f.read_text(encoding="utf-8"))}
    names_of_zones_to_choose_from = "tui/firstrun/words.py"
    assert asked == {"store/record/clock.py", names_of_zones_to_choose_from}


def test_the_list_opens_without_the_table_classes() -> None:
    """From the command to the rows of the demo: the frame must not wait for what only writing needs."""
    printed = python(
        "import asyncio, sys\n"
        "from armrise.tui.command import main as command\n"
        "from armrise.tui.app.app import ArmriseApp\n"
        "from armrise.tui.shell.opening import Opening\n"
        "from armrise.store.files.throwaway import throwaway\n"
        "from armrise.tui.shell.intake import filled, load_rules\n"
        "def prepare():\n"
        "    from armrise.store.exchange.into.caseload_file import demo_path, read\n"
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
        "from armrise.tui.command import main as command\n"
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


def test_no_source_names_a_pathway_or_a_stage() -> None:
    """What a pathway is stands in its rule file alone: a clinic's own one is asked the same questions.

    Words of the code, its strings, docstrings and comments; the rule files beside it are no source.
    """
    from armrise.store.rules.read import load

    pathways = load().pathways
    codes = {*pathways, *(stage.code for pathway in pathways.values() for stage in pathway.stages)}
    named = re.compile(rf"(?<![A-Za-z0-9])(?:{'|'.join(sorted(codes))})(?![A-Za-z0-9])")
    files = [file for room in ("store", "tui") for file in (ROOT / room).rglob("*.py")]
    assert len(files) > 100
    found = {str(file): named.findall(file.read_text(encoding="utf-8")) for file in files}
    assert {file: codes for file, codes in found.items() if codes} == {}
