"""The clinic's rules in force brought up to the shipped ones, as a version of their own."""

from __future__ import annotations

from datetime import datetime

from armrise.store.record.light import dataclass
from armrise.store.rules.folder.signature import read_files
from armrise.store.rules.folder.versions import SHIPPED_WORD, OwnRules
from armrise.store.rules.read import SHIPPED, made_from, shipped_version
from armrise.store.rules.table import RuleFileError
from armrise.store.rules.upgrade.merge import upgraded


@dataclass(frozen=True, slots=True)
class Upgrade:
    """A version made of an earlier one; ``added`` and ``conflicts`` are lines that name file and place."""

    before: str
    version: str
    added: tuple[str, ...]
    conflicts: tuple[str, ...]


def upgrade(own: OwnRules, now: datetime) -> Upgrade:
    """Makes the next version from the one in force and the shipped rules; it is unsigned and not in force.

    Raises :class:`RuleFileError` where there is nothing to upgrade, or the outcome does not hold together.
    """
    adoption = own.in_force()
    if adoption is None or adoption.version == SHIPPED_WORD:
        raise RuleFileError("the shipped rules are in force, and they are up to date with the program.")
    rules, folder = own.load(adoption.version), own.path(adoption.version)
    base = made_from(folder)
    if base == shipped_version():
        raise RuleFileError(
            f"version {rules.version}: was made from the shipped version {base}, which is the present one; "
            "there is nothing to upgrade."
        )
    made = upgraded(read_files(folder), read_files(SHIPPED), base)
    return Upgrade(rules.version, own.add(made.files, adoption, now), made.added, made.conflicts)
