"""What of store/ and tui/ is called by tests alone, or by nothing: its checks say nothing about the product.

``python -m tests.uncalled`` names each with its place and ends with 1 when there is any. An import is
followed to the definition, also through a package that passes it on. A member of a class counts as called
where its name is read of anything, so one that shares its name may hide; and so does what stands in a module
that is handed on as a value (a dialect of the database).
"""

from __future__ import annotations

import ast
import re
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]
ROOMS = ("store", "tui")

ALLOWED = {
    "main": "the command, named in pyproject.toml",
    "serve": "a helping process begins with it",
    "backgrounds": "history and forms reach every kind of a record through FIELD_OF_KIND",
    "convert": "click reads a typed date by it",
    "shell_complete": "click completes what is typed in a shell by it",
    "command_class": "click makes every command of a group by it",
    "group_class": "click makes every group of a group by it",
    "action_submit": "Textual calls it for Enter in a line of text",
    "DEFAULT_CSS": "Textual reads it",
    "VERTICAL_BREAKPOINTS": "Textual reads it",
    "CSS_PATH": "Textual reads it",
    "TITLE": "Textual reads it",
    "ENABLE_COMMAND_PALETTE": "Textual reads it",
    "get_default_screen": "Textual asks the application for it",
    "COMMANDS": "Textual reads it",
    "action_command_palette": "Textual opens its command palette by it",
    "discover": "Textual fills its command palette by it",
    "_fatal_error": "Textual leaves by it when something fails",
    "check_action": "Textual asks it before a key acts",
    "notify_style_update": "Textual tells a widget by it",
    "get_content_height": "Textual asks a widget for it",
    "apply": "Textual filters each line by it",
    "VERTICAL_BARS": "Textual paints its scroll bar by it",
}
"""What something outside the two rooms asks for, and which thing does."""

HANDLERS = ("on_", "_on_", "watch_")
"""How the methods begin that Textual calls by their names."""
REGISTERING = {"command", "group", "on", "listens_for"}
"""Decorators that hand a function to whoever calls it: click, Textual, SQLAlchemy."""
LINES = {"line", "_score"}
"""What declares a line of the audit: the sheet and the JSON read every one of a record."""
ACTION = re.compile(r"(?:(?:app|screen|focused)\.)?(\w+)(?:\(.*\))?")
"""What a key is bound to: ``app.help``, ``form('HoldScreen')``."""
QUOTED = re.compile(r"'(\w+)'")

Function = ast.FunctionDef | ast.AsyncFunctionDef
SCOPES = (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)
"""What has parameters and local names."""
Name = tuple[str, str]
"""A module, and a name in it."""


class Found(NamedTuple):
    """A definition that nothing calls."""

    file: Path
    line: int
    name: str

    @property
    def last(self) -> str:
        """The name without its class."""
        return self.name.rpartition(".")[2]


@dataclass(slots=True)
class Module:
    """A file: its statements, what each reads from outside itself, and what the file imports.

    ``imports`` has each name as it is called here with whence it comes; two functions may import two things
    by one name.
    """

    file: Path
    reads: list[tuple[ast.stmt, set[str]]]
    imports: list[tuple[str, Name]]


@dataclass(slots=True)
class Uses:
    """What is read anywhere in the rooms: imported names, members of anything, texts."""

    names: set[Name] = field(default_factory=set[Name])
    members: Counter[str] = field(default_factory=Counter[str])
    handed_on: set[str] = field(default_factory=set[str])
    """Modules read as a value, not for a name in them."""
    texts: set[str] = field(default_factory=set[str])
    actions: set[str] = field(default_factory=set[str])


def uncalled(root: Path = ROOT, allowed: Iterable[str] = ALLOWED) -> list[Found]:
    """Every definition under ``root`` that nothing there calls, and every permission that is not needed."""
    modules = dict(_modules(root))
    uses = _uses(modules)
    found = [one for name, module in modules.items() for one in _of_module(name, module, uses)]
    needless = sorted(set(allowed) - {one.last for one in found})
    told = [Found(Path(__file__), 0, f"{name}: allowed here, and called or gone") for name in needless]
    return [one for one in found if one.last not in allowed] + told


# --- reading ----------------------------------------------------------------------------------------------


def _modules(root: Path) -> Iterator[tuple[str, Module]]:
    for file in (file for room in ROOMS for file in sorted((root / room).rglob("*.py"))):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        reads = [(one, set(_reads(one))) for one in tree.body if list(_defined(one)) != ["__all__"]]
        name = ".".join(file.relative_to(root).with_suffix("").parts).removesuffix(".__init__")
        yield name, Module(file, reads, list(_imports(tree)))


def _imports(tree: ast.Module) -> Iterator[tuple[str, Name]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            parts = node.module.split(".")  # the rooms may lie in a package
            start = next((at for at, part in enumerate(parts) if part in ROOMS), 0)
            for one in node.names:
                yield one.asname or one.name, (".".join(parts[start:]), one.name)


def _defined(statement: ast.stmt) -> Iterator[str]:
    """The names that a statement makes."""
    match statement:
        case ast.FunctionDef() | ast.AsyncFunctionDef() | ast.ClassDef():
            yield statement.name
        case ast.Assign(targets=targets):
            yield from (n.id for target in targets for n in ast.walk(target) if isinstance(n, ast.Name))
        case ast.AnnAssign(target=ast.Name(id=name)):
            yield name
        case _:
            pass


def _reads(top: ast.AST) -> Iterator[str]:
    """The names read under ``top`` that are not a parameter or a local name of a function around them."""
    ahead: list[tuple[ast.AST, frozenset[str]]] = [(top, frozenset())]
    while ahead:
        node, hidden = ahead.pop()
        if isinstance(node, ast.Name) and not isinstance(node.ctx, ast.Store) and node.id not in hidden:
            yield node.id
        inside = hidden
        if isinstance(node, SCOPES):
            inside |= {name for part in _body(node) for name in _stored(part)}
            inside |= {one.arg for one in ast.walk(node.args) if isinstance(one, ast.arg)}
        body = _body(node) if inside is not hidden else []
        ahead += [(child, inside if child in body else hidden) for child in ast.iter_child_nodes(node)]


def _body(node: ast.AST) -> Sequence[ast.AST]:
    body = getattr(node, "body", [])
    return body if isinstance(body, list) else [body]


def _stored(part: ast.AST) -> Iterator[str]:
    """The local names of a part of a function."""
    nodes = [node for node in ast.walk(part) if isinstance(node, (ast.Name, ast.Global))]
    shared = {name for node in nodes if isinstance(node, ast.Global) for name in node.names}
    for node in nodes:
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store) and node.id not in shared:
            yield node.id


def _uses(modules: Mapping[str, Module]) -> Uses:
    uses, passed_on = Uses(), dict[Name, Name]()
    for name, module in modules.items():
        read = set[str]().union(*(names for _, names in module.reads))
        uses.names |= {whence for own, whence in module.imports if own in read}
        passed_on |= {(name, own): whence for own, whence in module.imports if own not in read}
        _look(module, modules, uses)
    ahead = [*uses.names, *(name for name in passed_on if name[1] in uses.texts)]
    while ahead:
        if (whence := passed_on.get(ahead.pop())) and whence not in uses.names:
            uses.names.add(whence)
            ahead.append(whence)
    return uses


def _look(module: Module, modules: Mapping[str, Module], uses: Uses) -> None:
    """Note the members and texts that a file reads, and what it reads of a module that it imports."""
    imported = [(own, ".".join(whence)) for own, whence in module.imports if ".".join(whence) in modules]
    nodes = [node for statement, _ in module.reads for node in ast.walk(statement)]
    bases = {id(node.value) for node in nodes if isinstance(node, ast.Attribute)}
    for node in nodes:
        match node:
            case ast.Name(id=name, ctx=ast.Load()) if id(node) not in bases:
                uses.handed_on |= {whence for own, whence in imported if own == name}
            case ast.Attribute(value=value, attr=name, ctx=ast.Load()):
                uses.members[name] += 1
                base = value.id if isinstance(value, ast.Name) else ""
                uses.names |= {(whence, name) for own, whence in imported if own == base}
            case ast.Constant(value=str(text)):
                uses.texts |= {text, *QUOTED.findall(text)}
                uses.actions |= {found[1]} if (found := ACTION.fullmatch(text)) else set()
            case _:
                pass


# --- judging ----------------------------------------------------------------------------------------------


def _of_module(name: str, module: Module, uses: Uses) -> Iterator[Found]:
    count = Counter(name for _, names in module.reads for name in names)
    for statement, reads in module.reads:
        if _registered(statement) or _table(statement):
            continue
        for own in _defined(statement):
            elsewhere = count[own] > (own in reads) or (name, own) in uses.names
            elsewhere |= name in uses.handed_on and uses.members[own] > 0
            by_text = isinstance(statement, ast.ClassDef) and own in uses.texts
            if not (own.startswith("__") or elsewhere or by_text):
                yield Found(module.file, statement.lineno, own)
        if isinstance(statement, ast.ClassDef):
            yield from _of_class(statement, module.file, uses)


def _of_class(made: ast.ClassDef, file: Path, uses: Uses) -> Iterator[Found]:
    reads = [(statement, set(_reads(statement))) for statement in made.body]
    count = Counter(name for _, names in reads for name in names)
    for statement, itself in reads:
        for own in _defined(statement):
            called = count[own] > (own in itself) or _member_called(statement, own, uses)
            if not (own.startswith("__") or called):
                yield Found(file, statement.lineno, f"{made.name}.{own}")
        if isinstance(statement, ast.ClassDef):
            yield from _of_class(statement, file, uses)


def _member_called(statement: ast.stmt, name: str, uses: Uses) -> bool:
    itself = sum(isinstance(n, ast.Attribute) and n.attr == name for n in ast.walk(statement))
    if uses.members[name] > itself or name in uses.texts or _registered(statement):
        return True
    if isinstance(statement, ast.AnnAssign) and isinstance(statement.value, ast.Call):
        return getattr(statement.value.func, "id", "") in LINES
    if not isinstance(statement, Function):
        return False
    action = name.removeprefix("action_")
    return name.startswith(HANDLERS) or (action != name and action in uses.actions)


def _registered(statement: ast.stmt) -> bool:
    decorators = statement.decorator_list if isinstance(statement, Function | ast.ClassDef) else []
    heads = (one.func if isinstance(one, ast.Call) else one for one in decorators)
    return any(getattr(head, "attr", getattr(head, "id", "")) in REGISTERING for head in heads)


def _table(statement: ast.stmt) -> bool:
    """True for a table of SQLModel, whose name and columns are read in SQL."""
    return isinstance(statement, ast.ClassDef) and any(one.arg == "table" for one in statement.keywords)


def main() -> int:
    """Print each with its place; 1 when there is any."""
    found = uncalled()
    for one in found:
        print(f"{one.file.relative_to(ROOT)}:{one.line}: {one.name}")
    return bool(found)


if __name__ == "__main__":
    sys.exit(main())
