"""The case as the rules see it: everything recorded of it, as known at one instant.

A correction is applied before a :class:`CaseRecord` is built: what was corrected is left out.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import field, replace
from datetime import date, datetime
from operator import attrgetter
from typing import ClassVar, get_args, get_type_hints

from armrise.store.record.kinds.care import Appointment, Attendance, Contact, SweepDecision, Visit
from armrise.store.record.kinds.head import AGE_BANDS, Entry
from armrise.store.record.kinds.measured import Finding, Measure, Score, Target
from armrise.store.record.kinds.pain import Irritability, Medicine, Morning, PeriodSummary, Session
from armrise.store.record.kinds.paperwork import (
    Background,
    Correction,
    Decision,
    Discharge,
    Letter,
    PatientDetails,
    Referral,
    ReferralAnswer,
    Reopen,
)
from armrise.store.record.kinds.plan import Clearance, Hold, InHand, Orders, Override, Step
from armrise.store.record.kinds.programme import HomeLoads, ProgrammeItem
from armrise.store.record.kinds.safety import Event, FlagOutcome, Onset, Screen
from armrise.store.record.light import NamedTuple, dataclass


def least_age(band: str | None) -> int:
    """The youngest age of a band in years; 0 when unknown or under 16."""
    if band is None or band not in AGE_BANDS:
        return 0
    digits = "".join(c for c in band if c.isdigit() or c == "-").split("-")[0]
    return 0 if band.startswith("under") else int(digits)


def oldest_age(band: str | None) -> int | None:
    """The oldest age of a band in years; None when unknown, and where a band has no end."""
    if band is None or band not in AGE_BANDS[:-1]:
        return None
    return least_age(AGE_BANDS[AGE_BANDS.index(band) + 1]) - 1


class Came(NamedTuple):
    """The entries ``first`` to ``last``, brought by one file, which came at ``at`` (aware, UTC)."""

    first: int
    last: int
    at: datetime


@dataclass(frozen=True, kw_only=True)
class CaseRecord:
    """One shoulder problem of one person, as known at one instant.

    Entries of each kind are in order of (happened date, id), corrected entries left out. ``sessions`` and
    ``mornings`` may be a window of the history: dates before ``known_from`` are then missing, except those of
    the first ``EARLY_DAYS`` days of the episode and of the present stage. None means nothing is missing.
    """

    EARLY_DAYS: ClassVar[int] = 21
    MARGIN_DAYS: ClassVar[int] = 28
    """So many days are read before a beginning that counts, for what its first baseline rests on."""

    code: str
    person: str
    side: str
    pathway: str
    dominance: str | None = None
    age_band: str | None = None
    clinician: str = ""
    referrer: str = ""
    registered_on: date
    known_from: date | None = None
    known_spans: tuple[tuple[date, date], ...] = ()
    """The dates read (from, and up to but not including), oldest first, when ``known_from`` is set."""
    came: tuple[Came, ...] = ()
    """What files brought into the store when it held cases already, of this case or another, oldest first."""

    visits: tuple[Visit, ...] = ()
    sessions: tuple[Session, ...] = ()
    mornings: tuple[Morning, ...] = ()
    summaries: tuple[PeriodSummary, ...] = ()
    measures: tuple[Measure, ...] = ()
    scores: tuple[Score, ...] = ()
    screens: tuple[Screen, ...] = ()
    """Answers of this case and of the same person's other case: the screen belongs to the person."""
    flag_outcomes: tuple[FlagOutcome, ...] = ()
    events: tuple[Event, ...] = ()
    contacts: tuple[Contact, ...] = ()
    appointments: tuple[Appointment, ...] = ()
    attendances: tuple[Attendance, ...] = ()
    programme: tuple[ProgrammeItem, ...] = ()
    steps: tuple[Step, ...] = ()
    overrides: tuple[Override, ...] = ()
    holds: tuple[Hold, ...] = ()
    in_hands: tuple[InHand, ...] = ()
    orders: tuple[Orders, ...] = ()
    clearances: tuple[Clearance, ...] = ()
    referrals: tuple[Referral, ...] = ()
    decisions: tuple[Decision, ...] = ()
    letters: tuple[Letter, ...] = ()
    discharges: tuple[Discharge, ...] = ()
    reopenings: tuple[Reopen, ...] = ()
    onsets: tuple[Onset, ...] = ()
    findings: tuple[Finding, ...] = ()
    medicines: tuple[Medicine, ...] = ()
    targets: tuple[Target, ...] = ()
    irritabilities: tuple[Irritability, ...] = ()
    backgrounds: tuple[Background, ...] = ()
    home_loads: tuple[HomeLoads, ...] = ()
    sweep_decisions: tuple[SweepDecision, ...] = ()
    referral_answers: tuple[ReferralAnswer, ...] = ()
    details: tuple[PatientDetails, ...] = ()
    """Already taken up in ``age_band``, ``dominance`` and ``referrer``: see :func:`detailed`."""
    linked: tuple[str, ...] = field(default=())
    """Codes of the same person's other cases."""

    def could_see(self, by: int, entry: int) -> bool:
        """Whether whoever recorded the entry ``by`` can have seen ``entry``: not what a file brought later.

        Ids follow the order in which entries were written here, so no clock is asked. What one file brings
        was together where it comes from, and all of it could be seen there.
        """
        at = bisect_right(self.came, entry, key=attrgetter("first")) - 1
        return at < 0 or entry > self.came[at].last or by >= self.came[at].first

    @property
    def other_side(self) -> str:
        """The side this case compares with."""
        return "LEFT" if self.side == "RIGHT" else "RIGHT"


def detailed(record: CaseRecord) -> CaseRecord:
    """The record with what was added to its head since registration; of two entries the newer governs."""
    known: dict[str, str] = {}
    for entry in sorted(record.details, key=lambda e: (e.recorded_at, e.id)):
        told = {"age_band": entry.age_band, "dominance": entry.dominance, "referrer": entry.referrer}
        known |= {name: said for name, said in told.items() if said}
    return replace(record, **known) if known else record


def _kinds() -> Iterator[tuple[str, type[Entry]]]:
    """The fields of a record that hold entries, each with the kind it holds."""
    for name, hint in get_type_hints(CaseRecord).items():
        inner = get_args(hint)
        if inner and isinstance(inner[0], type) and issubclass(inner[0], Entry):
            yield name, inner[0]


_KINDS = tuple(_kinds())
FIELD_OF_KIND = {kind.KIND: name for name, kind in _KINDS}
"""Where a :class:`CaseRecord` keeps the entries of each kind (a correction is applied, not kept)."""
KINDS: dict[str, type[Entry]] = {kind.KIND: kind for _, kind in _KINDS} | {Correction.KIND: Correction}
"""Every kind of entry by the word that names it in the store and in a caseload file."""
