"""What the first picture says of the rules: by a kept list before they are read, else by themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules


class Said(NamedTuple):
    """The version of the rules, who signed them off, and when the screen blanks itself."""

    version: str
    signed_off: str
    blank_after: int | None
    """Idle seconds after which it does; None where the rules do not say."""


def said_of(rules: Rules) -> Said:
    """What rules say for themselves."""
    return Said(rules.version, rules.sign_off, blank_after(rules))


def blank_after(rules: Rules) -> int | None:
    """Idle seconds after which the screen blanks itself; None where the rules do not say."""
    try:
        return rules["privacy.blank_after_seconds"]
    except KeyError:
        return None
