"""The keys to an action of a case, as they are printed: its own key, or the menu's and then its letter."""

from __future__ import annotations

from collections.abc import Mapping

from textual.binding import Binding

from armrise.tui.case.actions import CaseActions
from armrise.tui.case.acts import way
from armrise.tui.shell.keyname import is_key, printed


def key_to(name: str, own: Mapping[str, str]) -> str:
    """The first key of the action with this id, the user's ``own`` before the shipped; "" without one."""
    for binding in CaseActions.BINDINGS:
        if isinstance(binding, Binding) and binding.id == name:
            key = own.get(name, binding.key).split(",")[0]
            return printed(key) if is_key(key) else way(name, own)
    return ""
