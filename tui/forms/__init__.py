"""The modal entry screens: built with (door, standing), dismissed with what was written or None."""

from __future__ import annotations

from tui.forms.checkin import CheckInScreen
from tui.forms.contact import ContactScreen
from tui.forms.decision import DecisionScreen
from tui.forms.event import EventScreen
from tui.forms.flag_outcome import FlagOutcomeScreen
from tui.forms.inhand import InHandScreen
from tui.forms.letter import LetterScreen
from tui.forms.step import StepScreen
from tui.forms.undo import UndoScreen, undo_last

__all__ = [
    "CheckInScreen",
    "ContactScreen",
    "DecisionScreen",
    "EventScreen",
    "FlagOutcomeScreen",
    "InHandScreen",
    "LetterScreen",
    "StepScreen",
    "UndoScreen",
    "undo_last",
]
