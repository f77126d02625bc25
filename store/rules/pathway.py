"""Pathways, stages, criteria and figures: the shape of the rule files.

Every number a rule uses is a :class:`Figure` read from a data file, with the source it was taken from and how
far it may be trusted. :mod:`armrise.store.rules.read` reads and validates the files; nothing here does I/O.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cached_property

from armrise.store.rules.exercise import Exercise
from armrise.store.rules.figure import Figure
from armrise.store.rules.questionnaire import ConstantPoints, Form

TIERS = ("today", "harm if left", "contact owed", "move on", "none")
"""Tier names in order of attention; a case without a live reason is in the last."""

CRITERION_KINDS = (
    "measure",
    "during",
    "sessions",
    "finding",
    "clearance",
    "order date",
    "score",
    "improved",
    "no flare",
    "no event",
    "adherence",
    "screen",
    "plateau",
    "any",
    "all",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One exit (or step-back) criterion, as data. Which fields count depends on ``kind``.

    measure    ``measure`` ``at_least``/``at_most`` of ``of`` (None: the number; "other side" or a measure's
               name: per cent of it), on ``observations`` spanning at least ``apart_days``
    during     pain during the newest session, ``at_most``
    sessions   ``good`` qualifying sessions in a row, optionally in ``load_class`` at ``sets`` x ``reps`` or
               more with during at most ``at_most``, above the shoulder when ``above_shoulder``;
               ``reached_once`` is satisfied by any date of the present stage
    finding    ``finding`` with ``answer``
    clearance  ``by`` and ``scope``
    order date the surgeon's orders give a date for the next stage, and it has come
    score      ``instrument`` at_least/at_most
    improved   the region score changed for the better by its response threshold, or (``acceptable``) is in
               the acceptable state
    no flare   none in the last ``days``
    no event   no instability event or other new injury in the last ``days``
    adherence  per cent ``at_least``
    screen     red-flag screen complete and nothing open
    plateau    ``measure`` changed by less than ``change`` over ``days``
    any / all  of ``parts``
    """

    kind: str
    text: str
    source: str
    status: str
    measure: str | None = None
    at_least: Decimal | None = None
    at_most: Decimal | None = None
    of: str | None = None
    observations: int = 1
    apart_days: int = 0
    good: int = 0
    load_class: tuple[str, ...] = ()
    sets: int | None = None
    reps: int | None = None
    above_shoulder: bool = False
    reached_once: bool = False
    finding: str | None = None
    answer: str = "yes"
    by: str | None = None
    scope: str = "movement"
    instrument: str | None = None
    days: int | None = None
    change: Decimal | None = None
    acceptable: bool = True
    only_if_allowed: bool = False
    parts: tuple[Criterion, ...] = ()


@dataclass(frozen=True, slots=True)
class Limits:
    """Pain limits of a stage: during, later the same day, and rise of next morning over baseline."""

    during: Figure
    later: Figure
    rise: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A step of a pathway. Days are days in stage; ``opens_day`` counts from surgery or injury."""

    code: str
    name: str
    purpose: str
    minimum: Figure
    usual: Figure
    stall: Figure
    review: Figure
    review_early: Figure | None = None
    review_early_days: Figure | None = None
    """The shorter review interval of the first ``review_early_days`` days of the episode."""
    allowed: tuple[str, ...]
    """Every load class allowed, earlier stages' included."""
    limits: Limits
    protected: bool = False
    opens_day: Figure | None = None
    opens_day_large: Figure | None = None
    """The day after a large or massive tear or with poor tissue."""
    opens_with_union: bool = False
    combined_barred: bool = False
    """Combined abduction and external rotation is barred all stage."""
    combined_barred_before_day: Figure | None = None
    exit: tuple[Criterion, ...] = ()
    step_back: tuple[Criterion, ...] = ()
    """Any of these true advises a step back (a sustained flare always does, after the first stage)."""
    range_warnings: tuple[tuple[Criterion, str], ...] = ()
    """(criterion for concern, text): printed, never blocking."""
    precautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferRule:
    """A rule that ends in REFER until a referral or decision entry names it."""

    rule: str
    """"plateau", "image cuff", "nerve" or "bony"."""
    text: str
    source: str
    status: str
    stages: tuple[str, ...] = ()
    from_day: int | None = None
    age_from: int | None = None
    findings: tuple[tuple[str, str], ...] = ()
    """(finding, answer): any one of them."""
    lift_below: int | None = None
    """Active lift below this many degrees."""
    measure: str | None = None
    change_below: int | None = None
    over_days: int | None = None
    same_rater: bool = False
    past_stall: bool = False


TENDON, STIFF, ARTHRITIS = "tendon", "stiffness", "arthritis"
PLACINGS = (TENDON, STIFF, ARTHRITIS)
"""What a first visit looks for before it proposes a pathway that counts from no onset, and its stage."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pathway:
    """An agreed plan type for a kind of problem."""

    code: str
    name: str
    clock: str | None
    """Which onset starts healing: "surgery", "dislocation", "fracture", or None."""
    placing: str | None = None
    """One of :data:`PLACINGS`; None with a clock, and where a first visit proposes the first stage alone."""
    score: str
    """The region score (an instrument) used to judge response."""
    checkpoint: Figure
    early_look: Figure | None = None
    needs_orders: bool = False
    sling_until_day: Figure | None = None
    """Last template day of the sling (after surgery)."""
    half_rule: str = "always"
    """Half of the other side (drift): "always", "never", "from day n" or "not in STAGE"."""
    half_rule_from_day: Figure | None = None
    half_rule_not_in: tuple[str, ...] = ()
    stiffness_from_day: Figure | None = None
    stiffness_to_day: Figure | None = None
    stiffness_flexion: Figure | None = None
    stiffness_rotation: Figure | None = None
    best_from_day: Figure | None = None
    """Drift: best values count from this day after the onset (fracture)."""
    drift_against_own_best_only: bool = False
    masked_is_unknown: bool = False
    stages: tuple[Stage, ...]
    refer: tuple[ReferRule, ...] = ()
    cautions: tuple[str, ...] = ()

    def stage(self, code: str) -> Stage | None:
        """The stage with this code, or None when the file no longer has it."""
        return next((s for s in self.stages if s.code == code), None)

    def index(self, code: str) -> int:
        """Position of the stage, 0 first; -1 when the file no longer has it."""
        return next((i for i, s in enumerate(self.stages) if s.code == code), -1)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureSpec:
    """What is known about a measure: words, unit, range, when a value goes stale."""

    key: str
    label: str
    unit: str
    low: Decimal
    high: Decimal
    stale_days: Figure
    lower_is_better: bool
    question: bool
    """True when asking suffices; False when it has to be measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentSpec:
    """An outcome score: range, direction and the figures a change is judged by."""

    key: str
    low: Decimal
    high: Decimal
    lower_is_better: bool
    response: Figure | None
    detectable: Figure | None
    acceptable: Figure | None
    stale_days: Figure
    region: bool = False
    detectable_single: Figure | None = None
    """The detectable change of a mean that rests on a single rating."""
    form: Form | None = None
    """Its numbered items; None where only totals are taken."""


@dataclass(frozen=True, slots=True)
class Rank:
    """A row of the rank table: a reason's place, tier, name in words, and inside code."""

    rank: int
    code: str
    tier: str
    name: str


STAMP_LONGEST = 60


@dataclass(frozen=True, kw_only=True)
class Rules:
    """One version of all rule files. ``signed_by`` empty means NOT SIGNED OFF."""

    version: str
    signed_by: str = ""
    signed_on: date | None = None
    doubt: str = ""
    """Why these rules count as not signed though somebody signed them, or what else is not as it was."""
    origin: str = ""
    """Where they lie, in words: shipped with the program, or the clinic's own."""
    figures: dict[str, Figure] = field(default_factory=dict[str, Figure])
    pathways: dict[str, Pathway] = field(default_factory=dict[str, Pathway])
    measures: dict[str, MeasureSpec] = field(default_factory=dict[str, MeasureSpec])
    instruments: dict[str, InstrumentSpec] = field(default_factory=dict[str, InstrumentSpec])
    ranks: dict[str, Rank] = field(default_factory=dict[str, Rank])
    """By inside code (RED, INJ, ...)."""
    screen_severity: dict[str, Figure] = field(default_factory=dict[str, Figure])
    finding_stale_days: dict[str, Figure] = field(default_factory=dict[str, Figure])
    exercises: tuple[Exercise, ...] = ()
    """The catalogue, in the order of its file."""
    class_order: tuple[str, ...] = ()
    """Every load class from the least to the most a shoulder is asked for."""
    constant: ConstantPoints

    def __getitem__(self, key: str) -> int:
        """The whole-number value of figure ``key`` ("baseline.window_days")."""
        return self._whole[key]

    @cached_property
    def _whole(self) -> dict[str, int]:
        return {key: figure.whole for key, figure in self.figures.items()}

    @property
    def signed(self) -> bool:
        """True when somebody signed these very rules."""
        return bool(self.signed_by) and self.signed_on is not None and not self.doubt

    @property
    def sign_off(self) -> str:
        """The sign-off line printed beside every verdict."""
        if self.signed and self.signed_on is not None:
            return f"signed off by {self.signed_by} on {self.signed_on.isoformat()}"
        return f"NOT SIGNED OFF, {self.doubt}" if self.doubt else "NOT SIGNED OFF"

    @property
    def stamp(self) -> str:
        """Version and state as an entry keeps them, in 60 characters: a long name is cut, never the date."""
        said = f"{self.version} {self.sign_off}"
        if len(said) <= STAMP_LONGEST or self.signed_on is None:
            return said[:STAMP_LONGEST]
        start, end = f"{self.version} signed off by ", f" on {self.signed_on.isoformat()}"
        return f"{start}{self.signed_by[: STAMP_LONGEST - len(start) - len(end)]}{end}"


FIGURES = {
    "response.flare_over_during": "during pain this far above the limit is a flare (points)",
    "response.flare_over_later": "later pain this far above the limit is a flare (points)",
    "response.flare_morning": "with a raised morning, a next morning at or above this is a flare (points)",
    "response.complete_percent": "share of prescribed sets that makes a session complete (per cent)",
    "response.run_gap_days": "a longer gap to the next older session ends a run (days)",
    "response.run_window_days": "older sessions do not count in a run (days)",
    "response.recall_days": "a morning recalled later than this does not qualify (days)",
    "baseline.window_days": "mornings read back for a baseline (days)",
    "baseline.take": "mornings taken at most",
    "baseline.least": "mornings needed at least",
    "baseline.usual_days": "usual morning pain from the last visit holds this long (days)",
    "baseline.stands_days": "the last computable baseline stands this long (days)",
    "creep.points": "baseline this far above the first is creep (points)",
    "ceiling.baseline": "baseline at or above this cannot show a rise (points)",
    "ceiling.morning": "at the ceiling, a morning at or above this is a flare (points)",
    "flare.last": "this many newest sessions all flares is sustained",
    "flare.of": "flares among the newest sessions that are sustained",
    "flare.among": "newest sessions looked at",
    "flare.within_days": "and dated within this many days",
    "flare.morning_rise": "mornings this far above baseline (points)",
    "flare.mornings": "on this many calendar days running",
    "flare.waking_more": "more nights woken than the value before (nights a week)",
    "flare.horizon_days": "nothing older counts (days)",
    "flare.settled_mornings": "settled mornings that clear a flare",
    "flare.settled_within": "a settled morning is within this of baseline (points)",
    "drift.same_watch": "watch allowance, same rater (degrees)",
    "drift.same_act": "act allowance, same rater (degrees)",
    "drift.other_watch": "watch allowance, different or unknown rater (degrees)",
    "drift.other_act": "act allowance, different or unknown rater (degrees)",
    "drift.confirm_days": "two measurements at least this far apart (days)",
    "drift.confirm_within": "the later one within this of the first, or lower (degrees)",
    "drift.large_multiple": "a loss of this many act allowances needs no second measurement",
    "drift.half_percent": "below this share of the other side (per cent)",
    "drift.half_least_other": "where the other side has at least this (degrees)",
    "outcome.fresh_days": "a score no older than this lets a checkpoint be judged (days)",
    "outcome.early_pain": "early look: worst pain down by at least (points)",
    "outcome.early_function": "early look: patient-specific function up by at least (points)",
    "score_due.first_day": "first outcome score due (days from first treatment visit)",
    "score_due.second_day": "second outcome score due (days from first treatment visit)",
    "score_due.answered_before_days": "a total up to this long before answers it (days)",
    "lost.overdue_days": "protected case: review overdue by at least (days)",
    "lost.contact_days": "a contact silences it for (days)",
    "missed.in_row": "missed visits in a row",
    "missed.contact_days": "one missed visit without contact for (days)",
    "missed.letter_days": "days to reply to a letter about missed visits (days)",
    "discharge.protected_attempts": "protected stage: days on which contact was tried before a discharge",
    "sweep.phone_days": "a phone decision takes a case out of the weekly sweep for (days)",
    "sweep.unanswered_protected_days": "the same in a protected stage when nobody answered (days)",
    "sweep.refer_days": "a referral is followed up after (days)",
    "silence.numerator": "silence threshold as a share of the review interval: numerator",
    "silence.denominator": "silence threshold as a share of the review interval: denominator",
    "silence.floor_days": "never sooner than (days)",
    "silence.cap_days": "never later than (days)",
    "screen.shared_days": "a screen of the other shoulder counts if at most this long before (days)",
    "stalled.rearm_days": "a plan-review note silences it for (days)",
    "ready.waiting_days": "ready longer than this is printed as waiting (days)",
    "in_hand.most_days": "an in-hand date lies at most this far ahead (days)",
    "in_hand.most_days_today": "the same for a reason of the first tier (days)",
    "in_hand.load_cut_days": "a contact with load cut puts a flare in hand for (days)",
    "hold.most_days": "a hold lasts at most (days)",
    "reopening.same_episode_days": "a case reopened within this goes on in its episode (days)",
    "step.back_within_days": "a step back of at most this long keeps the minimum days served (days)",
    "step.override_shortest": "an override reason has at least this many characters",
    "mask.analgesic_days": "a new or stronger analgesic masks pain for (days)",
    "mask.injection_days": "an injection masks pain for (days)",
    "contradiction.active_over_passive": "active above passive by more than this contradicts (degrees)",
    "contradiction.rotation_lost": "internal rotation lost by this while hand behind back improves (degrees)",
    "contradiction.same_day": "two values of one day and rater differing by more than this (degrees)",
    "contradiction.morning_after_zero": "later 0 and next morning at or above this: check the day (points)",
    "contradiction.duplicate_minutes": "identical check-ins recorded this close are questioned (minutes)",
    "adherence.window_days": "adherence looks back (days)",
    "adherence.low_percent": "adherence below this is printed as few sessions (per cent)",
    "strength.error_same": "strength change within error, one rater (per cent)",
    "strength.error_other": "strength change within error, two raters (per cent)",
    "dose.deload_percent": "a deload takes the largest load at home of at most this share (per cent)",
    "dose.flare_before": "another flare among this many sessions before it asks for the verdict",
    "dose.flare_rest_days": "after a flare at least this many days without exercise (days)",
    "dose.restart_days": "a last session this long ago restarts lower (days)",
    "dose.reassess_days": "a last session longer ago than this is looked at again before any dose (days)",
    "dose.window_days": "older sessions do not count towards a raise (days)",
    "dose.reps_run": "good full sessions in a row before repetitions rise",
    "dose.reps_step": "repetitions rise by",
    "dose.hold_step": "seconds of isometric work rise by (seconds)",
    "dose.small_step_percent": "a next load at most this much heavier is a small step (per cent)",
    "dose.small_run": "good full sessions in a row before a small step of load",
    "dose.large_run": "good full sessions in a row before a larger step, or a band grade",
    "dose.load_days": "a load stays at least this long (days)",
    "dose.short_run": "dose not completed this many times running: it may be too long",
    "dose.blame_days": "an exercise raised this long before is to blame for pain (days)",
    "prompt.surgical_opinion_under_age": "offer a surgical opinion after a first dislocation under (years)",
    "irritability.high_from": "worst pain from here on is high (points)",
    "irritability.moderate_from": "worst pain from here on is moderate, below it low (points)",
    "placing.settle_night": "night pain from here on: settle first (points)",
    "placing.frozen_night": "stiff shoulder: night pain from here on is pain-predominant (points)",
    "placing.frozen_rest": "stiff shoulder: rest pain from here on is pain-predominant (points)",
    "placing.plane_loss": "passive range this far below the other side is a loss in its plane (degrees)",
    "placing.about_equal": "active and passive range this close are about equal (degrees)",
    "trend.least_values": "dated values needed at least",
    "trend.window_days": "older values say nothing of the present pace (days)",
    "trend.confidence_percent": "how sure the interval of a pace is (per cent)",
    "trend.longest_weeks": "further ahead than this many weeks is not projected",
    "stays.least": "stays that moved on, needed before their median is said",
    "audit.percent_least": "a proportion of fewer than this many is given without a per cent",
    "audit.after_days": "a flare this long after an override is said to have followed it (days)",
    "audit.baseline_days": "a score this long after the first visit is the first of the episode (days)",
    "placing.exercises": "exercises proposed to begin with",
    "privacy.blank_after_seconds": "the screen blanks itself when idle (seconds)",
}
"""Every figure the rules ask for outside the pathways, and what it means; a file lacking one is refused."""
