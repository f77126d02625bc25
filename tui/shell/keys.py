"""Every key of every screen, read from the bindings themselves, and the keys a user would rather have.

``keys.toml`` in the user's configuration folder, or the file ARMRISE_KEYS names, says under ``[keys]``
``"case.check_in" = "k"``. A file at fault changes nothing: every fault is one sentence, and the
shipped keys hold.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from functools import cache
from importlib import import_module
from itertools import combinations
from pathlib import Path
from pkgutil import walk_packages
from typing import Any, cast

from textual.app import App
from textual.binding import Binding
from textual.dom import DOMNode
from textual.keys import Keys, _character_to_key  # pyright: ignore[reportPrivateUsage]  # no public one
from textual.screen import Screen

from armrise.store.record.bounded import MB, read_bounded
from armrise.store.record.light import NamedTuple
from armrise.tui.shell.frame import Frame, Framed
from armrise.tui.shell.keyfile import is_named, keys_path
from armrise.tui.shell.keyname import DIGITS, is_key, no_key, printed, several

FIXED = ("q", "question_mark", "escape", "f8")
"""Keys that stay what they are: leave, help, back, blank."""
NEW_KEYS = (
    "app.copy",
    "case.acts",
    "case.copy",
    "case.criterion",
    "case.diary",
    "case.search",
    "find.number",
    "list.back_up",
    "list.compact",
    "list.hand_over",
    "list.mark",
    "list.pane",
    "list.print",
    "list.sheet",
    "list.verify",
)
"""Actions whose shipped key is new since 0.4.0, where a user may have given it to something else."""
PLACES = {
    "app": "everywhere",
    "list": "the list",
    "case": "a case, in the list and on its own screen",
    "acts": "the menu of weighty acts",
    "find": "finding a case, in the list and from another one",
    "form": "every form",
    "help": "help",
    "checkin": "check-in",
    "flags": "red-flag list",
    "first": "first run",
    "own": "first run, a caseload of one's own",
    "waiting": "referrals awaiting a first visit",
    "choose": "what a column means",
    "lines": "a long list of lines",
    "rows": "the rows of a spreadsheet",
    "sheet": "the columns of a spreadsheet",
    "unwritten": "forms not written",
}
"""What the first part of a binding's id stands for, where the part alone does not say it."""
MODIFIED = re.compile(r"(?:(?:ctrl|alt|shift)\+)*([a-z0-9_]+)")


class Row(NamedTuple):
    """One action: where it can be done, its id, the keys that do it, and what it does."""

    place: str
    id: str
    keys: tuple[str, ...]
    does: str


# the bindings


@cache
def classes() -> tuple[type[DOMNode], ...]:
    """The application, every screen and every widget of this program."""
    from armrise import tui

    for module in walk_packages(tui.__path__, "armrise.tui."):
        import_module(module.name)
    found = dict.fromkeys(_below(DOMNode))
    return tuple(of for of in found if of.__module__.startswith("armrise.tui."))


def _below(of: type[DOMNode]) -> Iterator[type[DOMNode]]:
    for sub in of.__subclasses__():
        yield sub
        yield from _below(sub)


def screens() -> list[type[Screen[Any]]]:
    """Every screen of this program, the forms among them."""
    return [of for of in classes() if issubclass(of, Screen)]


def applications() -> list[type[App[Any]]]:
    """The application: its keys are in force on every screen."""
    return [of for of in classes() if issubclass(of, App)]


def own(of: type[DOMNode]) -> list[Binding]:
    """The bindings that a class itself states and that have an id."""
    stated = [b for b in of.__dict__.get("BINDINGS", ()) if isinstance(b, Binding)]
    return [one for b in stated if b.id for one in Binding.make_bindings([b])]


def reference(keymap: Mapping[str, str] | None = None) -> list[Row]:
    """Every action by its place and id, under the keys of ``keymap`` where it names the action."""
    found: dict[str, tuple[list[str], str]] = {}
    for of in classes():
        for binding in own(of):
            assert binding.id
            keys, _ = found.setdefault(binding.id, ([], binding.description))
            keys += [binding.key] if is_key(binding.key) and binding.key not in keys else []
    asked = keymap or {}
    rows = [
        Row(
            place_of(name),
            name,
            tuple(filter(is_key, asked[name].split(",") if name in asked else keys)),
            does,
        )
        for name, (keys, does) in found.items()
    ]
    order = list(PLACES.values())
    return sorted(rows, key=lambda r: (order.index(r.place) if r.place in order else len(order), r.place))


def place_of(name: str) -> str:
    """Where the action with this id can be done."""
    first = name.partition(".")[0]
    return PLACES.get(first, first.replace("_", " "))


# a keys.toml


def read(path: Path) -> tuple[dict[str, str], list[str]]:
    """The keys asked for in ``path`` by binding id, and every fault in a sentence; no file asks for none."""
    try:
        content = tomllib.loads(read_bounded(path, MB).decode("utf-8-sig"))
    except FileNotFoundError:
        return {}, [f"ARMRISE_KEYS names {path}, and no file is there: correct it."] if is_named(path) else []
    except RecursionError:
        return {}, [
            f"{path.name} cannot be read (a nesting beyond all measure): correct it, or take it away."
        ]
    except (OSError, ValueError) as error:
        said = error.strerror if isinstance(error, OSError) else str(error)
        return {}, [f"{path.name} cannot be read ({said}): correct it, or take it away."]
    extra = [name for name in content if name != "keys"]
    asked: object = content.get("keys", {})
    if extra or not isinstance(asked, dict):
        return {}, [f'{path.name}: it holds one table, [keys], with lines such as "case.check_in" = "k".']
    return accepted(cast("dict[str, object]", asked))


def accepted(asked: Mapping[str, object]) -> tuple[dict[str, str], list[str]]:
    """The keys asked for, by Textual's names; and what cannot be, one sentence each."""
    shipped = {row.id: row for row in reference()}
    keymap: dict[str, str] = {}
    faults: list[str] = []
    for name, value in asked.items():
        keys = [named(key) for key in _parts(value)]
        fault = _fault(name, value, keys, shipped)
        if fault:
            faults.append(fault)
        elif keys:
            keymap[name] = ",".join(key for key in keys if key)
    if not faults:
        keymap |= {name: no_key(name) for name in _given_up(keymap)}
        faults = clashes(keymap)
    return ({}, faults) if faults else (keymap, [])


def _given_up(keymap: Mapping[str, str]) -> list[str]:
    """Actions whose shipped key is new since a user gave that key to something else: the user's own stays."""
    return [name for _, *pair in _pairs(keymap) for name in pair if name in NEW_KEYS and name not in keymap]


def changed(keymap: Mapping[str, str]) -> str:
    """What a newer version wanted a user's own keys for, in one sentence; empty where it wants none."""
    shipped = {row.id: row for row in reference()}
    told = [
        f"{shipped[name].does} ({name}, shipped on {several([printed(k) for k in shipped[name].keys])})"
        for name, key in keymap.items()
        if not is_key(key)
    ]
    if not told:
        return ""
    return f"Your keys hold. New, and without a key until you give them one: {'; '.join(told)}."


def _parts(value: object) -> list[str]:
    if not isinstance(value, str):
        return []
    return [value] if value == "," else [part.strip() for part in value.split(",") if part.strip()]


def named(key: str) -> str | None:
    """A key by the name the screen library gives it: "?" and "f5" and "ctrl+s"; None for no key."""
    if len(key) == 1:
        return _character_to_key(key) if key.isprintable() and key != " " else None
    match = MODIFIED.fullmatch(key)
    known = {k.value for k in Keys} | {_character_to_key(chr(c)) for c in range(33, 127)}
    return key if match and (match[1] in known or len(match[1]) == 1) else None


def _fault(name: str, value: object, keys: list[str | None], shipped: Mapping[str, Row]) -> str:
    if name not in shipped:
        near = get_close_matches(name, shipped, n=3)
        told = f"near it: {', '.join(near)}" if near else "armrise keys lists them all"
        return f'"{name}" is no action; {told}.'
    if not keys and value == "" and not shipped[name].keys:
        return ""
    if not keys or None in keys:
        return f'"{name}": {value!r} is no key; say a letter, or f5, ctrl+t, pagedown; several with commas.'
    before = shipped[name].keys
    if before == tuple(DIGITS) and tuple(keys) != before:
        return f'"{name}" keeps 0 to 9: with them a number is typed.'
    for fixed in FIXED:
        if (fixed in before) != (fixed in keys):
            verb = "keeps" if fixed in before else "cannot have"
            return f'"{name}" {verb} {printed(fixed)}: that key means the same on every screen.'
    if before and not any(_letter(key) for key in before) and any(_letter(key or "") for key in keys):
        return f'"{name}": {value!r} is typed as text there; take a function key, or one with ctrl.'
    return ""


def _letter(key: str) -> bool:
    return len(key) == 1 or key in {_character_to_key(chr(c)) for c in range(33, 127)}


def clashes(keymap: Mapping[str, str]) -> list[str]:
    """Two actions on one key of one screen, where the shipped keys have none."""
    return [
        f"{printed(key)} is given to both {one} and {other}, which stand on one screen: "
        "give one of them another key."
        for (key, one, other) in _pairs(keymap)
    ]


def _pairs(keymap: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """A key and the two actions it would do on one screen, where the shipped keys have none."""
    found: dict[tuple[str, str, str], None] = {}
    for screen in screens():
        shipped, asked = _by_key(screen, {}), _by_key(screen, keymap)
        for key, names in asked.items():
            for one, other in combinations(sorted(names), 2):
                if not any({one, other} <= others for others in shipped.values()):
                    found.setdefault((key, one, other))
    return list(found)


def _by_key(screen: type[Screen[Any]], keymap: Mapping[str, str]) -> dict[str, set[str]]:
    """The actions of each key that is in force on a screen."""
    keys: dict[str, set[str]] = {}
    own = screen.KEYED if issubclass(screen, Framed) else ()
    for of in (*applications(), screen, *own):
        for binding in _merged(of):
            if binding.id:
                for key in keymap.get(binding.id, binding.key).split(","):
                    keys.setdefault(key, set()).add(binding.id)
    return keys


def _merged(of: DOMNode | type[DOMNode]) -> list[Binding]:
    """The bindings in force on a screen or widget, those of its bases among them."""
    merged = of._merge_bindings()  # pyright: ignore[reportPrivateUsage]  # Textual has no public reading
    return [binding for several in merged.key_to_bindings.values() for binding in several]


# in words


def as_text(rows: Iterable[Row]) -> str:
    """The reference for reading: a heading for each place, one line an action."""
    lines: list[str] = []
    place = ""
    for row in rows:
        if row.place != place:
            place = row.place
            lines += [*([""] if lines else []), place.upper()]
        keys = several([printed(k) for k in row.keys]) or "(in a menu)"
        lines.append(f"  {keys:<18} {row.does:<34} {row.id}")
    return "\n".join(lines) + "\n"


def as_sample(rows: Iterable[Row]) -> str:
    """A keys.toml that changes nothing: every action with its shipped keys, as a remark."""
    lines = [
        "# Keys of armrise: take the # away before a line and write another key.",
        f"# It belongs to {keys_path()}",
        f"# {', '.join(printed(k) for k in FIXED)} stay what they are.",
        "[keys]",
    ]
    for row in rows:
        lines += [f"# {row.does}", f'# "{row.id}" = "{",".join(row.keys)}"']
    return "\n".join(lines) + "\n"


def in_words(app: Frame, screen: Screen[Any], text: str) -> str:
    """``text`` about the keys of a screen, with the user's own keys in place of the shipped ones."""
    keymap = app.own_keys
    others: dict[str, str] = {}
    for binding in _merged(screen):
        if binding.id and binding.id in keymap:
            others.setdefault(printed(binding.key), printed(keymap[binding.id].split(",")[0]))
    for shipped, chosen in others.items():
        text = re.sub(rf"(?<![\w+]){re.escape(shipped)}(?=\s|$|:)", chosen, text)
    return text
