"""Every kind of entry by the word that names it in the store and in a caseload file."""

from __future__ import annotations

from armrise.store.record.kinds.care import Appointment, Attendance, Contact, SweepDecision, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Finding, Measure, Score, Target
from armrise.store.record.kinds.pain import Irritability, Medicine, Morning, Session
from armrise.store.record.kinds.paperwork import (
    Background,
    Correction,
    Decision,
    Discharge,
    Letter,
    Referral,
    ReferralAnswer,
    Reopen,
)
from armrise.store.record.kinds.plan import Clearance, Hold, InHand, Orders, Override, Step
from armrise.store.record.kinds.programme import HomeLoads, ProgrammeItem
from armrise.store.record.kinds.safety import Event, FlagOutcome, Onset, Screen

KINDS: dict[str, type[Entry]] = {
    kind.KIND: kind
    for kind in (
        Visit,
        Session,
        Morning,
        Measure,
        Score,
        Screen,
        FlagOutcome,
        Event,
        Contact,
        Appointment,
        Attendance,
        ProgrammeItem,
        Step,
        Override,
        Hold,
        InHand,
        Orders,
        Clearance,
        Referral,
        Decision,
        Letter,
        Discharge,
        Reopen,
        Onset,
        Finding,
        Medicine,
        Target,
        Irritability,
        Background,
        HomeLoads,
        SweepDecision,
        ReferralAnswer,
        Correction,
    )
}
"""Every kind of entry by the word that names it in the store and in a caseload file."""
