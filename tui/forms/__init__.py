"""The modal entry screens: built with (door, standing), dismissed with what was written or None."""

from __future__ import annotations

from tui.forms.booking import BookingScreen
from tui.forms.checkin import CheckInScreen
from tui.forms.clearance import ClearanceScreen
from tui.forms.contact import ContactScreen
from tui.forms.decision import DecisionScreen
from tui.forms.discharge import DischargeScreen
from tui.forms.event import EventScreen
from tui.forms.first_visit import FirstVisitScreen
from tui.forms.flag_outcome import FlagOutcomeScreen
from tui.forms.hold import HoldScreen
from tui.forms.inhand import InHandScreen
from tui.forms.letter import LetterScreen
from tui.forms.measures import MeasuresScreen
from tui.forms.measures_items import ItemsScreen
from tui.forms.orders import OrdersScreen
from tui.forms.programme import ProgrammeScreen
from tui.forms.record import RecordScreen
from tui.forms.refer import ReferScreen
from tui.forms.register import RegisterScreen
from tui.forms.reopen import ReopenScreen
from tui.forms.review import ReviewScreen
from tui.forms.step import StepScreen
from tui.forms.suppose import SupposeScreen
from tui.forms.sweep_forms import SweepDischarge, SweepHold, SweepPhone, SweepRebook, SweepRefer
from tui.forms.sweep_seen import SweepSeen
from tui.forms.undo import UndoScreen

__all__ = [
    "BookingScreen",
    "CheckInScreen",
    "ClearanceScreen",
    "ContactScreen",
    "DecisionScreen",
    "DischargeScreen",
    "EventScreen",
    "FirstVisitScreen",
    "FlagOutcomeScreen",
    "HoldScreen",
    "InHandScreen",
    "ItemsScreen",
    "LetterScreen",
    "MeasuresScreen",
    "OrdersScreen",
    "ProgrammeScreen",
    "RecordScreen",
    "ReferScreen",
    "RegisterScreen",
    "ReopenScreen",
    "ReviewScreen",
    "StepScreen",
    "SupposeScreen",
    "SweepDischarge",
    "SweepHold",
    "SweepPhone",
    "SweepRebook",
    "SweepRefer",
    "SweepSeen",
    "UndoScreen",
]
