"""The case as the rules see it: frozen entries, each with when it happened, when it was recorded and by whom.

An entry is a fact that somebody wrote down. Nothing here is computed, and nothing here is ever changed: a
correction is one more entry, and the reader of the store leaves the corrected entry out before a
:class:`CaseRecord` is built.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from typing import ClassVar

from store.clinic.fields import (
    Absence,
    Children,
    Choice,
    Day,
    Flag,
    Number,
    Series,
    Whole,
    Words,
    may,
    must,
)

SIDES = ("LEFT", "RIGHT")
SOURCES = ("clinician measured", "patient reported", "referral letter", "surgeon", "clinic records")
AGE_BANDS = ("under 16", "16-17", "18-19", "20s", "30s", "40s", "50s", "60s", "70s", "80s", "90 or over")
LOAD_CLASSES = ("P0", "P1", "A1", "A2", "I1", "I2", "R1", "R2", "R3", "S1", "S2", "W1", "W2", "X1")
ISOMETRIC = ("I1", "I2")
"""Load classes that are held for seconds, not repeated."""
MEASURES = (
    "worst_pain",
    "rest_pain",
    "night_pain",
    "night_waking",
    "active_flexion",
    "active_abduction",
    "active_external_rotation",
    "passive_flexion",
    "passive_external_rotation",
    "passive_abduction",
    "passive_internal_rotation",
    "hand_behind_back",
    "external_rotation_strength",
    "internal_rotation_strength",
    "abduction_strength",
    "flexion_strength",
    "adherence",
    "worry_about_movement",
)
INSTRUMENTS = (
    "SPADI",
    "QuickDASH",
    "DASH",
    "OSS",
    "OSIS",
    "WOOS",
    "PSFS",
    "ASES",
    "Constant-Murley",
    "SANE",
    "WOSI",
    "WORC",
    "GROC",
    "NRS",
    "DASH work module",
    "DASH sport or music module",
    "QuickDASH work module",
    "QuickDASH sport or music module",
)
SCREEN_ITEMS = (
    "hot or swollen joint, or unwell",
    "unreduced dislocation or deformity",
    "motor or sensory loss",
    "mass, cancer history, weight loss or unrelenting night pain",
    "trauma and cannot lift to 90 degrees",
    "girdle pain with morning stiffness, headache, visual or jaw symptoms",
    "chest, arm or jaw pain on exertion, breathless, or abdominal signs",
    "calf or arm swelling after surgery or immobilisation",
    "wound discharge or fever after surgery",
    "neck movement reproduces arm pain with neurological signs",
)
"""The red-flag screen: a prompt, never a rule-out (practice note on every screen that shows it)."""

EVENTS = (
    "fall",
    "dislocation",
    "slipped out of joint",
    "sudden loss of active lift",
    "pop",
    "new bulge of the upper arm",
    "sudden weakness",
    "other injury",
)
CONTACT_OUTCOMES = (
    "spoke",
    "message answered",
    "no answer",
    "wrong number",
    "message left",
    "message received",
)
SPOKEN = ("spoke", "message answered")
"""Outcomes that are a contact; the others are an attempt, or an incoming message nobody has answered."""

ATTENDANCES = (
    "attended",
    "did not attend",
    "was not brought",
    "cancelled by patient",
    "cancelled by clinic",
)
MISSED = ("did not attend", "was not brought")
HOLD_REASONS = (
    "holiday",
    "illness",
    "awaiting imaging",
    "awaiting surgeon",
    "injection",
    "bereavement",
    "patient's request",
    "other",
)
DISCHARGE_OUTCOMES = (
    "goal met",
    "self-managing",
    "referred on",
    "did not attend",
    "patient choice",
    "died",
    "moved",
)
OVERRIDE_CATEGORIES = (
    "patient goal",
    "clinical judgement",
    "surgeon's instruction",
    "measure unreliable",
    "other",
)
ONSETS = ("surgery", "dislocation", "fracture", "other injury", "gradual")
ANSWERABLE = (
    "plateau",
    "image cuff",
    "nerve",
    "bony",
    "losing range",
    "post-operative stiffness",
    "worse, or not responding",
    "possible red flag",
    "surgical opinion",
    "stalled",
    "review not needed",
    "other",
)
"""What a referral or a decision entry can be about."""

ANSWERS = ("yes", "no", "not asked", "declined")
FINDINGS = (
    "wound dry",
    "sling weaned",
    "sling off",
    "shrug seen",
    "pain mainly at end range",
    "apprehension",
    "apprehension in daily use",
    "apprehension accepted",
    "badge sensation recorded",
    "deltoid contraction recorded",
    "badge sensation lost",
    "deltoid contracts",
    "can lift to 90 degrees",
    "weakness after injury",
    "second dislocation",
    "bony lesion on imaging",
    "goal met",
    "flare plan given",
    "self-care plan given",
    "self-managing",
    "open access set",
    "patient accepts function",
    "moves as one piece",
    "check X-ray seen",
    "bone health question closed",
    "training without apprehension",
    "heavy work",
    "surgeon signed off heavy work",
    "testing prohibited",
    "other side is a reference",
    "other side is equal to expectation",
    "radiograph excludes other cause",
    "surgical opinion offered",
    "contact or overhead sport",
    "contact sport by informed choice",
    "diabetes",
    "thyroid disease",
    "anticoagulant",
    "cancer history",
    "pregnancy",
    "osteoporosis",
    "firm end-feel",
    "large tear or poor tissue",
    "high irritability",
    "consent to hold record",
    "guardian consent",
    "safety-net advice given",
    "neck movement reproduces pain",
    "grip weaker than other side",
)
IRRITABILITIES = ("high", "moderate", "low")
"""How easily pain is provoked and how long it takes to settle, the most irritable first."""

SWEEP_DECISIONS = ("seen", "rebook", "phone", "hold", "discharge", "refer")
"""What may be decided of an overdue case in the weekly sweep: exactly one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What every entry states.

    ``on`` is the clinic-local date it happened. ``recorded_on`` is the clinic-local date of the recorded
    instant, ``recorded_at`` the instant itself (aware). ``history`` marks a fact from before the episode.
    """

    KIND: ClassVar[str] = ""

    id: int = 0
    on: date
    recorded_at: datetime
    recorded_on: date
    author: str = ""
    source: str = "clinician measured"
    history: bool = False

    @property
    def days_late(self) -> int:
        """Days between happening and being recorded, by clinic-local dates."""
        return (self.recorded_on - self.on).days


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit(Entry):
    """A person was seen. ``interval`` (days) sets the next review; without it the stage's interval holds."""

    KIND: ClassVar[str] = "visit"

    mode: str = may(Choice(("in person", "video")), "in person")
    interval: int | None = may(Whole(1, 366, "days"))
    injury_assessed: bool = may(Flag(), False)
    decision: bool = may(Flag(), False)
    load_cut: bool = may(Flag(), False)
    plan_corrected: bool = may(Flag(), False)
    answers: str | None = may(Choice(ANSWERABLE))
    usual_morning: int | None = may(Whole(0, 10))
    anything_new: str = may(Choice(("yes", "no", "not asked")), "not asked")
    """Whether the patient was asked for fever, numbness, a fall or weight loss, and said so."""
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneItem:
    """One exercise of a session: what was asked and what was done.

    ``sets`` and ``reps`` are done, ``sets_asked`` and ``reps_asked`` prescribed. ``load`` is kilograms,
    ``band`` a grade 1 (light) to 6 (heavy). ``sets`` of None means not recorded.
    """

    exercise: str = must(Words(60))
    load_class: str = must(Choice(LOAD_CLASSES))
    sets: int | None = may(Whole(0, 20))
    sets_asked: int | None = may(Whole(1, 20))
    reps: int | None = may(Whole(0, 200))
    reps_asked: int | None = may(Whole(1, 200))
    load: Decimal | None = may(Number(0, 200, 2, "kg"))
    band: int | None = may(Whole(1, 6))
    above_shoulder: bool = may(Flag(), False)
    combined: bool = may(Flag(), False)
    """Combined abduction and external rotation."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session(Entry):
    """One exercise session of the local date ``on``; ``morning`` is pain on waking the day after."""

    KIND: ClassVar[str] = "session"

    ordinal: int = may(Whole(1, 2), 1)
    during: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    later: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    morning: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    sling_off: bool = may(Flag(), False)
    items: tuple[DoneItem, ...] = may(Children(DoneItem), ())
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Morning(Entry):
    """Pain on waking on the date ``on``, with or without a session the day before."""

    KIND: ClassVar[str] = "morning"

    pain: int | Absence = must(Whole(0, 10, absent=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure(Entry):
    """One measurement of one side.

    Units follow ``name``: pain 0-10, nights 0-7, degrees, hand-behind-back level 0-19, strength in kg (or per
    cent of the other side with ``unit`` "percent of other side"), adherence in per cent. ``repeated`` is a
    value carried forward and not measured; ``limited_by`` names pain or guarding; ``confirmed`` says that a
    value that contradicts another was measured and stands.
    """

    KIND: ClassVar[str] = "measure"

    name: str = must(Choice(MEASURES))
    value: Decimal | Absence = must(Number(-20, 200, 2, absent=True))
    unit: str | None = may(Choice(("percent of other side", "kg", "grade 0-5")))
    side: str | None = may(Choice(SIDES))
    """None is the affected side."""
    rater: str | None = may(Words(12))
    method: str | None = may(Words(40))
    position: str | None = may(Words(40))
    limited_by: str | None = may(Choice(("pain", "guarding", "other")))
    repeated: bool = may(Flag(), False)
    confirmed: bool = may(Flag(), False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Score(Entry):
    """The total of a questionnaire. ``total`` is None when the form came back incomplete."""

    KIND: ClassVar[str] = "score"

    instrument: str = must(Choice(INSTRUMENTS))
    total: Decimal | Absence | None = may(Number(-10, 2100, 2, absent=True))
    formula: str | None = may(Choice(("mean of subscales", "all items", "new 0-48", "old 12-60")))
    version: str | None = may(Words(40))
    language: str | None = may(Words(20))
    filled_by: str | None = may(Choice(("patient", "carer", "interview")))
    items: tuple[Decimal | None, ...] = may(Series(-7, 100, 1, 30, blanks=True), ())
    """Answers by the number of their item on the licensed form, None where one was left blank; no wording."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen(Entry):
    """One answer of the red-flag screen. ``item`` "all" with "no": every item asked, every one no."""

    KIND: ClassVar[str] = "screen"

    item: str = must(Choice(("all", *SCREEN_ITEMS)))
    answer: str = must(Choice(ANSWERS))
    severity: int | None = may(Whole(1, 3))
    """3 same day, 2 urgent, 1 soon or query; None takes the item's default from the rule file."""
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class FlagOutcome(Entry):
    """The clinician's recorded outcome of a possible red flag."""

    KIND: ClassVar[str] = "flag outcome"

    item: str = must(Choice(("all", *SCREEN_ITEMS)))
    outcome: str = must(Choice(("cleared", "referred and answered")))
    reason: str = must(Words(200, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Event(Entry):
    """A new injury or instability event."""

    KIND: ClassVar[str] = "event"

    event: str = must(Choice(EVENTS))
    combined: bool = may(Flag(), False)
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact(Entry):
    """A call or message, in either direction."""

    KIND: ClassVar[str] = "contact"

    outcome: str = must(Choice(CONTACT_OUTCOMES))
    load_cut: bool = may(Flag(), False)
    plan_corrected: bool = may(Flag(), False)
    surgeon_told: bool = may(Flag(), False)
    note: str | None = may(Words())

    @property
    def spoken(self) -> bool:
        """True when somebody spoke with the patient or carer, or a written message was answered."""
        return self.outcome in SPOKEN


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment(Entry):
    """A slot booked on ``on`` for the date ``booked_for``."""

    KIND: ClassVar[str] = "appointment"

    booked_for: date = must(Day(future=True))
    reason: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Attendance(Entry):
    """What became of the slot booked for ``booked_for``."""

    KIND: ClassVar[str] = "attendance"

    booked_for: date = must(Day(future=True))
    outcome: str = must(Choice(ATTENDANCES))


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeItem(Entry):
    """One version of one exercise of the home programme, in force from ``on`` until the next version."""

    KIND: ClassVar[str] = "programme item"

    exercise: str = must(Words(60))
    load_class: str = must(Choice(LOAD_CLASSES))
    sets: int = must(Whole(1, 20))
    reps: int = must(Whole(1, 200))
    reps_low: int | None = may(Whole(1, 200))
    reps_high: int | None = may(Whole(1, 200))
    hold: int | None = may(Whole(1, 300, "s"))
    tempo: str | None = may(Words(12))
    load: Decimal | None = may(Number(0, 200, 2, "kg"))
    band: int | None = may(Whole(1, 6))
    per_week: int | None = may(Whole(1, 70, "sessions a week"))
    effort: int | None = may(Whole(0, 10))
    above_shoulder: bool = may(Flag(), False)
    combined: bool = may(Flag(), False)
    rest: int | None = may(Whole(0, 600, "s"))
    """Rest between sets."""
    sides: str | None = may(Choice(("affected", "both")))
    self_progress: bool = may(Flag(), False)
    """The patient may raise repetitions, never load, within the range."""
    stopped: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Entry):
    """The case enters ``stage``. The first one is the assessment's placing and no step."""

    KIND: ClassVar[str] = "step"

    stage: str = must(Words(4, 3))
    direction: str = must(Choice(("placing", "forward", "back")))
    override_category: str | None = may(Choice(OVERRIDE_CATEGORIES))
    override_reason: str | None = may(Words(200, 10))
    verdict: str | None = may(Words(40))
    rules: str | None = may(Words(60))


@dataclass(frozen=True, slots=True, kw_only=True)
class Override(Entry):
    """A decision against the rule that is no step: staying on ready, staying on step back advised."""

    KIND: ClassVar[str] = "override"

    against: str = must(Words(60))
    category: str = must(Choice(OVERRIDE_CATEGORIES))
    reason: str = must(Words(200, 10))
    rules: str | None = may(Words(60))
    """The rule version, and whether it was signed off, under which the verdict was given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold(Entry):
    """An agreed pause from ``on`` until ``until`` (exclusive). A later hold replaces an earlier one;
    ``until`` equal to ``on`` ends it."""

    KIND: ClassVar[str] = "hold"

    until: date = must(Day(future=True))
    reason: str = must(Choice(HOLD_REASONS))
    note: str | None = may(Words())
    named: str | None = may(Words(60))
    """The surgeon or lead who agreed, needed in a protected stage."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InHand(Entry):
    """A clinician answers one reason with an action and a date."""

    KIND: ClassVar[str] = "in hand"

    reason: str = must(Words(60))
    """The reason's name in words, as the list shows it."""
    action: str = must(Words())
    until: date = must(Day(future=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders(Entry):
    """The surgeon's written orders, in force from ``on`` (the date of the document)."""

    KIND: ClassVar[str] = "orders"

    surgeon: str | None = may(Words(60))
    operation: str | None = may(Words(80))
    tear_size: str | None = may(Choice(("small", "medium", "large", "massive")))
    poor_tissue: bool = may(Flag(), False)
    tendons: str | None = may(Words(80))
    sling_until: date | None = may(Day(future=True))
    external_rotation_limit: int | None = may(Whole(-20, 110, "degrees"))
    elevation_limit: int | None = may(Whole(0, 180, "degrees"))
    no_active_until: date | None = may(Day(future=True))
    no_resisted_until: date | None = may(Day(future=True))
    lifting_limit: Decimal | None = may(Number(0, 100, 2, "kg"))
    stage2_from: date | None = may(Day(future=True))
    stage3_from: date | None = may(Day(future=True))
    stage4_from: date | None = may(Day(future=True))
    stage5_from: date | None = may(Day(future=True))
    text: str | None = may(Words(400))

    def stage_from(self, number: int) -> date | None:
        """The date on which these orders open stage ``number`` (2 to 5), if they say so."""
        dates = (None, None, self.stage2_from, self.stage3_from, self.stage4_from, self.stage5_from)
        return dates[number] if 2 <= number <= 5 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance(Entry):
    """Recorded permission to pass a limit. ``scope`` "resisted" is asked for separately."""

    KIND: ClassVar[str] = "clearance"

    by: str = must(Choice(("surgeon", "union", "stability")))
    scope: str = may(Choice(("movement", "resisted")), "movement")
    answer: str = must(Choice(("yes", "no", "not known", "withdrawn")))


@dataclass(frozen=True, slots=True, kw_only=True)
class Referral(Entry):
    """The case was referred on, on the date ``on``."""

    KIND: ClassVar[str] = "referral"

    to: str = must(Words(60))
    urgency: str = must(Choice(("same day", "urgent", "soon", "routine")))
    about: str = must(Choice(ANSWERABLE))
    surgeon_told: bool = may(Flag(), False)
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision(Entry):
    """A recorded decision about a named matter: carry on, plan reviewed, review not needed."""

    KIND: ClassVar[str] = "decision"

    about: str = must(Choice(ANSWERABLE))
    note: str = must(Words(200, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter(Entry):
    """A letter was sent (or drafted) on the date ``on``."""

    KIND: ClassVar[str] = "letter"

    about: str = must(Choice(("discharge", "referral", "progress", "missed visits")))
    state: str = may(Choice(("sent", "draft")), "sent")


@dataclass(frozen=True, slots=True, kw_only=True)
class Discharge(Entry):
    """The episode ends. ``letter`` says whether a letter is owed."""

    KIND: ClassVar[str] = "discharge"

    outcome: str = must(Choice(DISCHARGE_OUTCOMES))
    measures: str = may(Choice(("recorded", "not obtained")), "recorded")
    letter: bool = may(Flag(), True)
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Reopen(Entry):
    """A closed case is opened again; ``new_mechanism`` makes it a new episode."""

    KIND: ClassVar[str] = "reopening"

    new_mechanism: bool = may(Flag(), False)
    reason: str = must(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Onset(Entry):
    """When and how it began: the surgery or injury date from which healing is counted.

    A later entry of the same ``what`` restarts the healing clock: only a clinician writes one.
    """

    KIND: ClassVar[str] = "onset"

    what: str = must(Choice(ONSETS))
    operation: str | None = may(Words(80))
    low_energy: bool = may(Flag(), False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Entry):
    """A dated observation stored as the thing observed ("shrug seen": "no")."""

    KIND: ClassVar[str] = "finding"

    name: str = must(Choice(FINDINGS))
    answer: str = must(Choice(ANSWERS))
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Medicine(Entry):
    """Something that can mask pain: an injection, or an analgesic that is new or stronger."""

    KIND: ClassVar[str] = "medicine"

    what: str = must(Choice(("injection", "analgesic")))
    change: str = may(Choice(("new", "stronger", "unchanged", "stopped")), "new")


@dataclass(frozen=True, slots=True, kw_only=True)
class Target(Entry):
    """A target typed by the clinician, with the reason, where the other side is no reference."""

    KIND: ClassVar[str] = "target"

    measure: str = must(Choice(MEASURES))
    value: Decimal = must(Number(-20, 200, 2))
    reason: str = must(Words(200, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Irritability(Entry):
    """How irritable the shoulder is: the level the clinician confirmed, and the rows it was proposed from."""

    KIND: ClassVar[str] = "irritability"

    level: str = must(Choice(IRRITABILITIES))
    proposed: str | None = may(Choice(IRRITABILITIES))
    mixed: bool = may(Flag(), False)
    """No two rows agreed; the higher was proposed."""
    intensity: str | None = may(Choice(IRRITABILITIES))
    rest_and_night: str | None = may(Choice(IRRITABILITIES))
    end_range: str | None = may(Choice(IRRITABILITIES))
    settling: str | None = may(Choice(IRRITABILITIES))


@dataclass(frozen=True, slots=True, kw_only=True)
class Background(Entry):
    """What the arm is needed for, how sleep is, and the patient's goal in short words of their own."""

    KIND: ClassVar[str] = "background"

    demand: str | None = may(Words(80))
    goal: str | None = may(Words(120))
    sleep: str | None = may(Choice(("undisturbed", "sometimes disturbed", "disturbed every night")))


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeLoads(Entry):
    """The weights (kg) and band grades the patient has at home; the newest entry holds."""

    KIND: ClassVar[str] = "home loads"

    weights: tuple[Decimal | None, ...] = may(Series(0, 200, 2, 30, "kg"), ())
    bands: tuple[Decimal | None, ...] = may(Series(1, 6, 0, 6), ())


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepDecision(Entry):
    """The one decision taken of an overdue case in the weekly sweep; it leaves the sweep until ``until``."""

    KIND: ClassVar[str] = "sweep decision"

    decision: str = must(Choice(SWEEP_DECISIONS))
    until: date = must(Day(future=True))
    reasons: str = must(Words(200))
    """The reasons in words that brought the case into the sweep."""
    overdue_days: int | None = may(Whole(0, 3660, "days"))
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferralAnswer(Entry):
    """What came back of a referral."""

    KIND: ClassVar[str] = "referral answer"

    about: str = must(Choice(ANSWERABLE))
    answer: str = must(Words(200, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction(Entry):
    """Withdraws the entry ``corrects``; a replacement, if any, is an entry of its own, ``replaced_by``."""

    KIND: ClassVar[str] = "correction"

    corrects: int = must(Whole(1, 2**62))
    replaced_by: int | None = may(Whole(1, 2**62))
    reason: str = must(Words(200, 3))


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


@dataclass(frozen=True, kw_only=True)
class CaseRecord:
    """One shoulder problem of one person, as known at one instant.

    Entries of each kind are in order of (happened date, id), corrected entries left out. ``sessions`` and
    ``mornings`` may be a window of the history: dates before ``known_from`` are then missing, except those of
    the first ``EARLY_DAYS`` days of the episode and of the present stage. None means nothing is missing.
    """

    EARLY_DAYS: ClassVar[int] = 45
    MARGIN_DAYS: ClassVar[int] = 42
    """A window is trusted from this long after its beginning: what a baseline rests on lies within."""

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

    visits: tuple[Visit, ...] = ()
    sessions: tuple[Session, ...] = ()
    mornings: tuple[Morning, ...] = ()
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
    linked: tuple[str, ...] = field(default=())
    """Codes of the same person's other cases."""

    @cached_property
    def first_visit(self) -> date | None:
        """The first treatment visit, from which checkpoints and score dates count."""
        return min((v.on for v in self.visits), default=None)

    @property
    def other_side(self) -> str:
        """The side this case compares with."""
        return "LEFT" if self.side == "RIGHT" else "RIGHT"


FIELD_OF_KIND: dict[str, str] = {
    "visit": "visits",
    "session": "sessions",
    "morning": "mornings",
    "measure": "measures",
    "score": "scores",
    "screen": "screens",
    "flag outcome": "flag_outcomes",
    "event": "events",
    "contact": "contacts",
    "appointment": "appointments",
    "attendance": "attendances",
    "programme item": "programme",
    "step": "steps",
    "override": "overrides",
    "hold": "holds",
    "in hand": "in_hands",
    "orders": "orders",
    "clearance": "clearances",
    "referral": "referrals",
    "decision": "decisions",
    "letter": "letters",
    "discharge": "discharges",
    "reopening": "reopenings",
    "onset": "onsets",
    "finding": "findings",
    "medicine": "medicines",
    "target": "targets",
    "irritability": "irritabilities",
    "background": "backgrounds",
    "home loads": "home_loads",
    "sweep decision": "sweep_decisions",
    "referral answer": "referral_answers",
}
"""Where a :class:`CaseRecord` keeps the entries of each kind (a correction is applied, not kept)."""
