"""By which key an action that the rules name is taken: they know actions, and no screen."""

from __future__ import annotations

from collections.abc import Mapping

from armrise.tui.case.key_to import key_to

TAKEN_BY = {
    "phone": "case.contact",
    "book": "case.book",
    "check in": "case.check_in",
    "review": "case.review",
    "measures": "case.measures",
    "doses": "case.programme",
    "orders": "case.orders",
    "step forward": "case.step_forward",
    "step back": "case.step_back",
    "refer": "case.refer",
    "flag outcome": "case.flag_outcome",
    "decide": "case.letter",
    "letter": "case.letter",
    "in hand": "case.in_hand",
}
"""The binding of each of :data:`armrise.store.rules.do.ACTS`."""


def act_keys(own: Mapping[str, str]) -> dict[str, str]:
    """The printed keys to every action, ``own`` keys before the shipped ones."""
    found = {act: key_to(name, own) for act, name in TAKEN_BY.items()}
    return {act: keys for act, keys in found.items() if keys}
