"""Three versions of the rule files made into one: shipped before, the clinic's own, shipped now.

:func:`completed` adds to the clinic's files what they could not know yet and changes nothing else.
:func:`upgraded` also takes up what was changed in the shipped files wherever the clinic had left the shipped
statement alone; where both changed it, the clinic's stands and the conflict is named.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, cast

from armrise.store.record.light import NamedTuple
from armrise.store.record.words import plain
from armrise.store.rules.folder.place import EARLIER
from armrise.store.rules.folder.signature import COMMON, read_files
from armrise.store.rules.table import UNITS, shown
from armrise.store.rules.upgrade.blocks import Address, Block, Statement, blocks, text_of
from armrise.store.rules.upgrade.first import as_now, never_stale, ranks
from armrise.store.rules.upgrade.fitting import fitted

FIRST = "1"
"""The version whose files had other forms."""
_NEEDED = ("screen_item",)
"""Lists whose entries are completed even where the clinic changed them: they do not hold together without."""
MADE_FROM = "made_from"
_HEAD = ("version", "signed_by", "signed_on", "signed_digest")

Files = Mapping[str, str]


class Merged(NamedTuple):
    """The files, what was added to the clinic's, and where the clinic's stands against a shipped change."""

    files: dict[str, str]
    added: tuple[str, ...]
    conflicts: tuple[str, ...]


def completed(own: Files, shipped: Files, base: str) -> Merged:
    """The clinic's files with the parts that came after the shipped version ``base`` they were made from."""
    return _merged(own, shipped, base, taking=False)


def upgraded(own: Files, shipped: Files, base: str) -> Merged:
    """The clinic's files brought from the shipped version ``base`` to the present one."""
    return _merged(own, shipped, base, taking=True)


def _merged(own: Files, shipped: Files, base: str, *, taking: bool) -> Merged:
    before = read_files(EARLIER / base)
    added, conflicts = list[str](), list[str]()
    made: dict[str, list[Block]] = {}
    for name, text in own.items():
        mine = blocks(text)
        if name in shipped and name in before:
            old, new = blocks(before[name]), blocks(shipped[name])
            if base == FIRST:
                old, mine = as_now(old), as_now(mine)
            one = _File(name, old, mine, new, taking, added, conflicts)
            mine = one.blocks()
        made[name] = mine
    if base == FIRST:
        added += never_stale(made)
    fitted(made)
    return Merged({name: text_of(found) for name, found in made.items()}, tuple(added), tuple(conflicts))


@dataclass
class _File:
    """One file in its three versions."""

    name: str
    old: list[Block]
    own: list[Block]
    new: list[Block]
    taking: bool
    added: list[str]
    conflicts: list[str]
    owns: dict[Address, Block] = field(init=False)
    olds: dict[Address, Block] = field(init=False)

    def __post_init__(self) -> None:
        self.owns = {block.address: block for block in self.own}
        self.olds = {block.address: block for block in self.old}

    def blocks(self) -> list[Block]:
        """The file's blocks in the shipped order, the clinic's further ones after their neighbours."""
        found: list[Block] = []
        for new in self.new:
            mine, was = self.owns.get(new.address), self.olds.get(new.address)
            if mine is not None:
                found.append(self._block(was, mine, new))
            elif was is None and not self._inside_removed(new.address):
                found.append(new)
                self.added.append(self._place(new.address))
            elif was is not None and self.taking and was.said != new.said:
                self.conflicts.append(f"{self._place(new.address)}: taken out by the clinic, and left out")
        self._further(found)
        return found

    def _inside_removed(self, address: Address) -> bool:
        """Whether it belongs to something that the clinic took out."""
        outer = [address[:n] for n in range(1, len(address))]
        return any(one in self.olds and one not in self.owns for one in outer)

    def _further(self, found: list[Block]) -> None:
        """Puts in what the clinic has and the shipped file has not."""
        known = {block.address for block in self.new}
        before: Address | None = None
        for mine in self.own:
            was = self.olds.get(mine.address)
            left = self.taking and was is not None and was.said == mine.said
            if mine.address not in known and not left:
                at = next((n for n, b in enumerate(found, 1) if b.address == before), len(found))
                found.insert(at, mine)
                if self.taking and was is not None:
                    self.conflicts.append(
                        f"{self._place(mine.address)}: no longer shipped, the clinic's kept"
                    )
            if any(block.address == mine.address for block in found):
                before = mine.address

    def _block(self, was: Block | None, mine: Block, new: Block) -> Block:
        made = Block(new.path, new.many, new.head if self.taking else mine.head, address=new.address)
        made.tail = new.tail if self.taking else mine.tail
        if new.address == ("ranks",) and was is not None:
            made.statements = ranks(was, mine, new)
            missing = [code for code in new.statements if code not in mine.statements]
            self.added += [self._place(("ranks", str(new.said[code].get("name")))) for code in missing]
            return made
        old = was.statements if was else {}
        own_one = new.many and new.path != _NEEDED and mine.said != (was.said if was else {})
        for key, theirs in new.statements.items():
            if own_one and key not in mine.statements and key not in old:
                self._left((*new.address, key))
            elif taken := self._statement(key, was, mine, new, theirs):
                made.statements[key] = taken
        for key, statement in mine.statements.items():
            unchanged = key in old and old[key].value == statement.value
            if key not in new.statements and not (self.taking and unchanged):
                made.statements[key] = statement
        return made

    def _left(self, address: Address) -> None:
        """A key that came to an entry of a list which the clinic had changed may not fit, and is left out."""
        if self.taking:
            why = "new, and left out because the clinic changed the rest of it"
            self.conflicts.append(f"{self._place(address)}: {why}")

    def _statement(
        self, key: str, was: Block | None, mine: Block, new: Block, theirs: Statement
    ) -> Statement | None:
        """The statement that stands, None where there is none."""
        own, old = mine.statements.get(key), was.statements.get(key) if was else None
        place = self._place((*new.address, key))
        if (
            self.name == COMMON
            and not new.address
            and (key in _HEAD or (key == MADE_FROM and not self.taking))
        ):
            return own
        if own is None:
            if old is None:
                self.added.append(place)
                return theirs
            if self.taking and old.value != theirs.value:
                self.conflicts.append(f"{place}: taken out by the clinic, and left out")
            return None
        if not self.taking:
            return own
        if old is not None and own.value == old.value:
            return theirs
        changed = old is None or old.value != theirs.value
        if changed and own.value != theirs.value:
            moved = f"{_short(old.value)} -> {_short(theirs.value)}" if old else _short(theirs.value)
            self.conflicts.append(f"{place}: shipped {moved}, the clinic's {_short(own.value)} kept")
        return own

    def _place(self, address: Address) -> str:
        return ", ".join((self.name, *(part.replace("_", " ") for part in address)))


def _short(value: Any) -> str:
    """A value in a line: of a figure its number."""
    stated = cast("dict[str, Any]", value) if isinstance(value, dict) else {}
    number = next((stated[unit] for unit in UNITS if unit in stated), None)
    return shown(value) if number is None else plain(Decimal(number))
