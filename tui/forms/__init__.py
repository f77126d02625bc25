"""The modal entry screens: built with (door, standing), dismissed with what was written or None."""

from __future__ import annotations

from tui.forms.checkin import CheckInScreen
from tui.forms.contact import ContactScreen
from tui.forms.inhand import InHandScreen
from tui.forms.step import StepScreen
from tui.forms.undo import UndoScreen, undo_last

__all__ = ["CheckInScreen", "ContactScreen", "InHandScreen", "StepScreen", "UndoScreen", "undo_last"]
