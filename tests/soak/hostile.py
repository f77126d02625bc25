"""Hostile texts, command lines, files and variables from a seed, and whether anything raw came out.

Kinds of signs are those of the Unicode character database (UAX #44) and of the bidirectional algorithm
(UAX #9); ``unicodedata`` has the first. What counts as raw is said here apart from the program, so that the
program can be found wrong.
"""

from __future__ import annotations

import json
import random
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ALPHABETS: dict[str, str] = {
    "controls": "".join(map(chr, (*range(32), 127, *range(128, 160)))),
    "sequences": "\x1b\x9b\x90\x9d[]()?;0123456789mHJhl\x07\\",
    "lines": "\n\r\x0b\x0c\x85\u2028\u2029",
    "directions": "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069",
    "no width": "\u00ad\u200b\u200c\u200d\u2060\u2061\u2064\ufeff\u180e\u034f\u115f\u3164\U000e0041",
    "marks": "\u0300\u0301\u0323\u0489\u20dd\u0e49\u05b7\ufe0f\ufe0e",
    "no characters": "\ud800\udbff\udc00\udfff\ue000\uf8ff\U000f0000\uffff\ufdd0\u0378",
    "markup": "[]{}<>&\"'/\\`$#bold red link=@click",
    "lawful": "äöüßéñłøåçŽσжאבגםمرحباक中文字カナ한👩🏽✔°→ ",
}
"""Signs by what is hostile about them; the last are letters of many scripts, to stay as they are."""
UNSEEN = "\u115f\u3164\u034f"
PLAIN = "abc LEFT RC2 012-"


class Attack(NamedTuple):
    """A command line to try, the variables it runs under, and what it is about."""

    about: str
    arguments: list[str]
    environ: dict[str, str]


def text(draw: random.Random, kind: str = "", longest: int = 24) -> str:
    """A text in which signs of one kind (any, where none is named) stand among plain ones."""
    signs = ALPHABETS[kind or draw.choice(list(ALPHABETS))]
    return "".join(
        draw.choice(signs if draw.random() < 0.6 else PLAIN) for _ in range(draw.randint(1, longest))
    )


def raw(told: str) -> list[str]:
    """Every sign of an output that a terminal obeys, hides or piles up, by its code point."""
    found = [f"U+{ord(sign):04X}" for sign in told if sign != "\n" and _hostile(sign)]
    marks = 0
    for sign in told:
        marks = marks + 1 if unicodedata.category(sign) in ("Mn", "Me") else 0
        if marks > 4:
            found.append(f"a flood of U+{ord(sign):04X}")
    return found


def _hostile(sign: str) -> bool:
    return unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") or sign in UNSEEN


def os_text(word: str) -> str:
    """The word as the system can pass it: without NUL, a lone surrogate as the byte it stands for."""
    kept = "".join(
        s for s in word if s != "\0" and not ("\ud800" <= s < "\udc80" or "\udcff" < s <= "\udfff")
    )
    return kept or "x"


def attacks(seed: int, folder: Path) -> Iterator[Attack]:
    """Command lines without end: hostile codes, days, files and variables; files lie in ``folder``."""
    draw = random.Random(seed)
    makers = (_codes, _days, _caseloads, _keys, _rules, _variables, _lines)
    while True:
        made = draw.choice(makers)(draw, folder)
        words = [os_text(word) for word in made.arguments]
        yield made._replace(arguments=words, environ={k: os_text(v) for k, v in made.environ.items()})


def _codes(draw: random.Random, folder: Path) -> Attack:
    command = draw.choice([["case"], ["why"], ["handover"], ["fields"], ["schema"], ["rules", "show"], []])
    return Attack("a code", [*command, text(draw), *(["--demo"] if len(command) == 1 else [])], {})


def _days(draw: random.Random, folder: Path) -> Attack:
    days = ["9999-12-31", "0001-01-01", "2199-12-31", "1900-01-01", "2026-02-30", "-99999", text(draw)]
    option = draw.choice(["--as-of", "--at", "--from", "--to"])
    command = "audit" if option in ("--from", "--to") else draw.choice(["list", "due", "minutes"])
    return Attack("a day", [command, "--demo", option, draw.choice(days)], {})


def _named(draw: random.Random, folder: Path, content: bytes) -> Path:
    name = os_text(text(draw, longest=12)).replace("/", "_").strip(".") or "x"
    path = folder / name.encode(errors="surrogateescape")[:60].decode(errors="surrogateescape")
    path.write_bytes(content)
    return path


def _caseloads(draw: random.Random, folder: Path) -> Attack:
    case = {"code": text(draw), "person": text(draw), "side": "LEFT", "pathway": "RC", "entries": [
        {"kind": "visit", "on": -1, "note": text(draw)}, {"kind": text(draw), text(draw): text(draw)},
    ]}  # fmt: skip
    whole = {
        "format": 1,
        text(draw): text(draw),
        "clinic_date": "2026-03-02",
        "zone": text(draw),
        "cases": [case],
    }
    content = (
        json.dumps(whole).encode()
        if draw.random() < 0.7
        else text(draw, longest=200).encode(errors="replace")
    )
    return Attack("a caseload file", ["list", "--caseload", str(_named(draw, folder, content))], {})


def _keys(draw: random.Random, folder: Path) -> Attack:
    lines = f'[keys]\n"{text(draw)}" = "{text(draw)}"\n' if draw.random() < 0.8 else text(draw, longest=200)
    path = _named(draw, folder, lines.encode(errors="replace"))
    return Attack("a keys.toml", ["keys"], {"ARMRISE_KEYS": str(path)})


def _rules(draw: random.Random, folder: Path) -> Attack:
    own = folder / f"rules{draw.randrange(10**9)}"
    own.mkdir(exist_ok=True)
    content = f'version = "{text(draw)}"\n{text(draw)} = "{text(draw)}"\n[{text(draw)}]\n'
    (own / "rules.toml").write_bytes(content.encode(errors="replace"))
    return Attack("a rules folder", ["rules", "check", str(own)], {})


def _variables(draw: random.Random, folder: Path) -> Attack:
    name = draw.choice(["AUTHOR", "ZONE", "RULES", "KEYS", "ASCII", "BLANK_AFTER"])
    return Attack("a variable", ["audit", "--demo"], {f"ARMRISE_{name}": text(draw)})


def _lines(draw: random.Random, folder: Path) -> Attack:
    line = draw.choice(["-7: 221/23", "Mon: 222"]) + text(draw)
    store = str(_named(draw, folder, text(draw).encode(errors="replace")))
    return Attack("a diary line", ["strip", "BY-003", line, "--dry-run", "--store", store], {})
