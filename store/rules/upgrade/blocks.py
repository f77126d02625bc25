"""A rule file as blocks of lines, so that a statement is found again in another version of the file.

A block is what stands under one heading, a statement one key with the remarks above it. Nothing is rewritten:
whatever is taken over is taken over line by line, remarks included.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, cast

Address = tuple[str, ...]
_NAMED_BY = ("code", "key", "name", "item", "text", "reason")
"""What an entry of a list is called by, whichever comes first."""


@dataclass
class Statement:
    """One key: its value, and its lines with the remarks above."""

    lines: list[str]
    value: Any


@dataclass
class Block:
    """A heading with its statements. ``address`` is the same in every version of the file."""

    path: Address
    many: bool
    """Whether the heading is one entry of a list, ``[[stage]]``."""
    head: list[str]
    statements: dict[str, Statement] = field(default_factory=dict[str, Statement])
    tail: list[str] = field(default_factory=list[str])
    address: Address = ()

    @property
    def said(self) -> dict[str, Any]:
        """What it states, without remarks."""
        return {key: statement.value for key, statement in self.statements.items()}

    @property
    def lines(self) -> list[str]:
        """All of it as it stands in the file."""
        inner = [line for statement in self.statements.values() for line in statement.lines]
        return [*self.head, *inner, *self.tail]


def blocks(text: str) -> list[Block]:
    """The blocks of a file that is valid TOML, in their order."""
    found, above, lines = [Block((), False, [])], list[str](), iter(text.split("\n"))
    for line in lines:
        if line.lstrip().startswith("["):
            path, many = _heading(line)
            found.append(Block(path, many, [*above, line]))
            above = []
        elif not line.strip() or line.lstrip().startswith("#"):
            above.append(line)
        else:
            _state(found[-1], above, line, lines)
            above = []
    found[-1].tail = above
    _addressed(found)
    return found


def text_of(every: Iterable[Block]) -> str:
    """The file again."""
    return "\n".join(line for block in every for line in block.lines)


def parsed(text: str) -> dict[str, Any]:
    """What a text states, its numbers exact."""
    return tomllib.loads(text, parse_float=Decimal)


def _heading(line: str) -> tuple[Address, bool]:
    node: Any = parsed(line)
    path: list[str] = []
    many = False
    while node:
        many = isinstance(node, list)
        node = cast("list[Any]", node)[0] if many else node
        if not node:
            break
        key = next(iter(node))
        path.append(key)
        node = node[key]
    return tuple(path), line.lstrip().startswith("[[")


def _state(block: Block, above: list[str], line: str, lines: Iterable[str]) -> None:
    """Takes a statement, over as many lines as it needs."""
    taken = [line]
    rest = iter(lines)
    while True:
        try:
            said = parsed("\n".join(taken))
            break
        except tomllib.TOMLDecodeError:
            taken.append(next(rest))
    key, value = next(iter(said.items()))
    if key in block.statements:  # a.b and a.c, each a statement of its own
        key = line.partition("=")[0].strip()
    block.statements[key] = Statement([*above, *taken], value)


def _addressed(found: list[Block]) -> None:
    """Gives every block its address: entries of a list by what they are called, a second one numbered."""
    newest: dict[Address, Address] = {}
    taken: dict[Address, int] = {}
    for block in found:
        above = next((n for n in range(len(block.path) - 1, 0, -1) if block.path[:n] in newest), 0)
        address = (*newest.get(block.path[:above], ()), *block.path[above:])
        if block.many:
            named = next((str(block.said[key]) for key in _NAMED_BY if key in block.said), "")
            address = (*address[:-1], f"{address[-1]} {named}".strip())
        taken[address] = taken.get(address, 0) + 1
        if taken[address] > 1:
            address = (*address[:-1], f"{address[-1]} ({taken[address]})")
        block.address = address
        if block.many:
            newest = {p: a for p, a in newest.items() if p[: len(block.path)] != block.path}
            newest[block.path] = address
