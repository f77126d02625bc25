"""Files that somebody gives: a caseload, keys of one's own, a folder of rules."""

from __future__ import annotations

import contextlib
import json
import random
import shutil
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from armrise.store.caseload import read as caseload
from armrise.store.exchange.into import caseload_file
from armrise.store.exchange.into.caseload_file import CaseloadRefused
from armrise.store.exchange.out.listing import on_list
from armrise.store.exchange.out.plain_text import as_text
from armrise.store.record.visible import visible_lines
from armrise.store.rules.read import COMMON, SHIPPED, faults
from armrise.store.rules.table import RuleFileError
from armrise.tui.command.ending import refusal
from armrise.tui.command.reading import Seen
from armrise.tui.shell import keys
from armrise.tui.shell.intake import filled, in_memory
from tests.soak.batches import Result
from tests.soak.doors.command import given, named_file
from tests.soak.hostile import raw, text, typed
from tests.soak.works.kind import rules

Drawn = Iterator[tuple[str, Callable[[], Result]]]


def judged(told: str) -> Result:
    """What was said must hold nothing raw."""
    return Result({"a raw sign": ", ".join(found[:5])} if (found := raw(told)) else {})


# a caseload file


@cache
def _case() -> str:
    """The demonstration with one case, as JSON."""
    whole = json.loads(caseload_file.demo_path().read_text(encoding="utf-8"))
    return json.dumps(whole | {"cases": whole["cases"][2:3]})


def value(draw: random.Random) -> Any:
    """Any value JSON can hold."""
    return draw.choice((
        typed(draw), text(draw), draw.randint(-20, 200), 10**draw.randint(1, 400), draw.uniform(-1e9, 1e9),
        1e308, True, False, None, [], {}, [text(draw), None], {text(draw): text(draw)}, "2026-02-30",
        "9999-12-31T23:59:59+14:00", -99999, [[[[[]]]]],
    ))  # fmt: skip


def spoiled(draw: random.Random, whole: Any) -> str:
    """Put hostile values and names in a few places of decoded JSON, in place; which, in words."""
    where: list[str] = []
    for _ in range(draw.choice((1, 1, 2, 4))):
        here, way = whole, ""
        while True:
            key: Any = draw.choice(list(here)) if isinstance(here, dict) else draw.randrange(len(here))
            way += f"[{key!a}]"
            if not isinstance(here[key], (dict, list)) or not here[key] or draw.random() < 0.1:
                break
            here = here[key]
        chance = draw.random()
        if isinstance(here, dict) and chance < 0.2:
            here[text(draw)] = value(draw)
        elif chance < 0.3:
            del here[key]
        else:
            here[key] = value(draw)
        where.append(way[:60])
        if not whole:
            break
    return ", ".join(where)


def caseloads(draw: random.Random, room: Path, _small: Path) -> Drawn:
    """Caseload files: spoiled in places, no JSON, hostile bytes."""
    while True:
        chance = draw.random()
        if chance < 0.75:
            whole = json.loads(_case())
            about = spoiled(draw, whole)
            content = json.dumps(whole).encode()
        else:
            about = "bytes"
            content = _bytes(draw)
        path = named_file(draw, room, content)
        yield f"caseload file, {about}", lambda path=path: _read_caseload(path)


def _bytes(draw: random.Random) -> bytes:
    whole = _case().encode()
    match draw.randrange(6):
        case 0:
            return text(draw, longest=400).encode(errors="surrogatepass")
        case 1:
            return draw.randbytes(draw.randrange(300))
        case 2:
            return whole[: draw.randrange(len(whole))]
        case 3:
            return b"[" * draw.choice((10, 2000, 200_000))
        case 4:
            return b"\xff\xfe" + _case().encode("utf-16-le")
        case _:
            place = draw.randrange(len(whole))
            return whole[:place] + text(draw).encode(errors="surrogatepass") + whole[place:]


def _read_caseload(path: Path) -> Result:
    """It is refused in words; or taken into a store, and its list is printed."""
    try:
        file = caseload_file.read(path, rules())
    except CaseloadRefused as refused:
        return judged(refusal(refused))
    finally:
        with contextlib.suppress(OSError):
            path.unlink()
    with in_memory() as memory:
        store = filled(file, memory)
        today = store.today()
        standings = on_list(caseload.standings(store, rules(), today))
        printed = as_text(standings, Seen(store, rules(), today, None).heading(), "")
        return judged(visible_lines(printed))  # as a command lets a text out


# keys of one's own


def keyfiles(draw: random.Random, room: Path, _small: Path) -> Drawn:
    """Files of keys: known and unknown actions, hostile keys, no TOML."""
    known = [row.id for row in keys.reference()]
    while True:
        lines = ["[keys]"] if draw.random() < 0.9 else [text(draw)]
        for _ in range(draw.choice((1, 2, 5))):
            name = draw.choice(known) if draw.random() < 0.6 else text(draw)
            key = draw.choice("kx7") if draw.random() < 0.2 else typed(draw)
            quote = json.dumps if draw.random() < 0.8 else lambda word: f'"{word}"'
            lines.append(f"{quote(name)} = {quote(key)}")
        content = "\n".join(lines)
        path = named_file(draw, room, content.encode(errors=draw.choice(("replace", "surrogatepass"))))
        yield f"keys, {content[:120]!a}", lambda path=path: _read_keys(path)


def _read_keys(path: Path) -> Result:
    return given(["keys"], {"ARMRISE_KEYS": str(path)})


# a folder of rules

ODD = ("-1", "1e400", "nan", "[]", "{}", "9" * 400, "true", "0", "1979-05-27", "0x7fffffffffffffffff")
"""Values of TOML that few fields take."""


@cache
def _shipped(name: str) -> str:
    return (SHIPPED / name).read_text(encoding="utf-8")


def rulefolders(draw: random.Random, room: Path, _small: Path) -> Drawn:
    """The shipped rules with a value, a name or a line of one file spoiled."""
    folder = room / "rules"
    shutil.copytree(SHIPPED, folder)
    names = [COMMON, *(path.name for path in sorted(SHIPPED.glob("*.toml")))]
    while True:
        name = draw.choice(names)
        content, about = _spoiled_rules(draw, _shipped(name))
        yield f"{name}: {about}", lambda name=name, content=content: _check_rules(folder, name, content)


def _spoiled_rules(draw: random.Random, whole: str) -> tuple[bytes, str]:
    lines = whole.split("\n")
    places = [number for number, line in enumerate(lines) if line.strip() and not line.startswith("#")]
    place = draw.choice(places)
    before = lines[place]
    name, sign, _ = before.partition("=")
    match draw.randrange(5):
        case 0:
            lines[place] = text(draw)
        case 1 if sign:
            lines[place] = f"{name}= {json.dumps(typed(draw))}"
        case 2 if sign:
            lines[place] = (
                f"{name}= {draw.choice(('-1', '1e400', 'nan', '[]', '{}', '9' * 400, 'true', '0'))}"
            )
        case 3:
            lines.insert(place, f"{json.dumps(text(draw))} = {json.dumps(text(draw))}")
        case _:
            cut = draw.randrange(len(before))
            lines[place] = before[:cut] + text(draw) + before[cut:]
    about = f"line {place + 1}: {lines[place][:80]!a}"
    return "\n".join(lines).encode(errors=draw.choice(("replace", "surrogatepass"))), about


def _check_rules(folder: Path, name: str, content: bytes) -> Result:
    """Every fault is one sentence; rules that hold together are read."""
    (folder / name).write_bytes(content)
    try:
        found = faults(folder)
        for fault in found:
            if "\n" in fault.strip():
                return Result({"traceback": f"no one sentence: {fault!a}"[:300]})
        return judged("\n".join(refusal(RuleFileError(fault)) for fault in found))
    finally:
        (folder / name).write_text(_shipped(name), encoding="utf-8")
