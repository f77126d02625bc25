"""What changed its form after the first shipped version of the rules, said of the files of that version."""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from armrise.store.rules.folder.signature import COMMON
from armrise.store.rules.tiers import TIERS
from armrise.store.rules.upgrade.blocks import Block, Statement

Made = Mapping[str, list[Block]]
_SEVERITIES, _STALE = ("screen_severity",), ("finding_stale",)
_CRITERIA = ("exit", "step_back")


def _stated(key: str, value: Any) -> Statement:
    """A statement on a line of its own."""
    plain = str(value) if isinstance(value, Decimal | int) else json.dumps(value, ensure_ascii=False)
    return Statement([f"{key} = {plain}"], value)


_GONE = ("stiffness_to",)
"""Keys that say nothing any more: stiffness after a repair is judged from a day on, with no last day."""


_IN_A_ROW = " in a row"
"""What good sessions were said to be: a slip may lie among them now, and the criterion is the same one."""


def as_now(found: list[Block]) -> list[Block]:
    """The severities of red-flag answers as ``[[screen_item]]``, a block each, no key that is gone, and
    criteria by their present names."""
    made: list[Block] = []
    for block in found:
        for key in _GONE:
            block.statements.pop(key, None)
        if block.said.get("kind") == "sessions" and isinstance(block.said.get("text"), str):
            _renamed(block)
        made += _items(block) if block.address == _SEVERITIES else [block]
    return made


def _renamed(block: Block) -> None:
    text = block.statements["text"]
    lines = [line.replace(_IN_A_ROW, "", 1) for line in text.lines]
    block.statements["text"] = Statement(lines, text.value.replace(_IN_A_ROW, "", 1))
    block.address = (*block.address[:-1], block.address[-1].replace(_IN_A_ROW, "", 1))


def _items(block: Block) -> list[Block]:
    items: list[Block] = []
    for name, statement in block.statements.items():
        head = ["", "[[screen_item]]"]
        item = Block(("screen_item",), True, head, address=(f"screen_item {name}",))
        said = {"name": name, "severity": statement.value["value"]}
        said |= {key: statement.value[key] for key in ("source", "status")}
        item.statements = {key: _stated(key, value) for key, value in said.items()}
        items.append(item)
    return items


def ranks(was: Block, mine: Block, new: Block) -> dict[str, Statement]:
    """The rank table: the shipped one, or the clinic's order with the new reasons after their neighbours."""
    if mine.said == was.said:
        return new.statements
    rows: dict[str, dict[str, Any]] = {**new.said, **mine.said}
    order = sorted(mine.statements, key=lambda code: mine.said[code]["rank"])
    shipped = list(new.statements)
    for place, code in enumerate(shipped):
        if code not in order:
            tier = TIERS.index(rows[code]["tier"])
            alike = [c for c in shipped[:place] if c in order and TIERS.index(rows[c]["tier"]) == tier]
            above = [n for n, c in enumerate(order, 1) if TIERS.index(rows[c]["tier"]) < tier]
            order.insert(order.index(alike[-1]) + 1 if alike else max(above, default=0), code)
    return {code: _rank(code, n, rows[code]) for n, code in enumerate(order, 1)}


def _rank(code: str, rank: int, row: dict[str, Any]) -> Statement:
    tier, name = (json.dumps(row[key], ensure_ascii=False) for key in ("tier", "name"))
    return Statement([f"{code} = {{ rank = {rank}, tier = {tier}, name = {name} }}"], {**row, "rank": rank})


def never_stale(made: Made) -> list[str]:
    """States of every finding of a criterion what leaving it out used to say: it never goes stale."""
    table = next((block for block in made[COMMON] if block.address == _STALE), None)
    if table is None:
        return []
    added: list[str] = []
    for block in (one for found in made.values() for one in found):
        name = block.said.get("finding")
        asked = any(part.split(" ")[0] in _CRITERIA for part in block.address)
        if asked and name and name not in table.statements and "fresh_days" not in block.statements:
            table.statements[name] = Statement([f'{json.dumps(name, ensure_ascii=False)} = "never"'], "never")
            added.append(f"{COMMON}, finding stale, {name}")
    return added
