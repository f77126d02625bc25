"""By which key an action that the rules name is taken: they know actions, and no screen."""

from __future__ import annotations

from collections.abc import Mapping

from textual.binding import Binding

from armrise.tui.case.actions import CaseActions
from armrise.tui.shell.keys import printed

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
    """The printed key of every action, ``own`` keys before the shipped ones."""
    shipped = {b.id: b.key for b in CaseActions.BINDINGS if isinstance(b, Binding)}
    found = {act: own.get(name, shipped.get(name, "")) for act, name in TAKEN_BY.items()}
    return {act: printed(keys.split(",")[0]) for act, keys in found.items() if keys}
