"""Pathways, stages and the rules as a whole: the shape of the rule files.

Every number a rule uses is a :class:`Figure` read from a data file, with the source it was taken from and how
far it may be trusted. What is said beside a field is all there is to say of its key: a figure of a stage is
added here and in the file. :mod:`armrise.store.rules.read` reads the files; nothing here does I/O.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from datetime import date
from functools import cached_property
from os import urandom
from typing import Self

from armrise.store.record.kinds.measured import FINDINGS, MEASURES
from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.record.light import dataclass
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.declared import (
    MOST_DAYS,
    SOURCE,
    STATUS,
    Amount,
    Answers,
    Apart,
    Count,
    Inner,
    OneOf,
    Several,
    Text,
    Texts,
    Yes,
    may,
    must,
)
from armrise.store.rules.do import Do
from armrise.store.rules.exercise import Exercise, ExerciseLadder
from armrise.store.rules.figure import Figure
from armrise.store.rules.measure import InstrumentSpec, MeasureSpec, ScoreFigures, with_own
from armrise.store.rules.questionnaire import ConstantPoints
from armrise.store.rules.red_flag import Lead, MessageWords, ScreenItem
from armrise.store.rules.tiers import TIERS
from armrise.store.rules.trigger import Contradiction, Trigger
from armrise.store.rules.words.patient import PatientWords

IN_HAND_OWN = {"MSU": "message.in_hand_days"}
"""Reasons that are in hand for days of their own, by inside code."""
CLOCKS = ("surgery", "dislocation", "fracture")
HALF_RULES = ("always", "never", "from day", "not in")
REFER_RULES = ("plateau", "image cuff", "nerve", "bony")


@dataclass(frozen=True, slots=True)
class Limits:
    """Pain limits of a stage: during, later the same day, and rise of next morning over baseline."""

    during: Figure = must(Amount("points"), "pain limit during")
    later: Figure = must(Amount("points"), "pain limit later", "later the same day")
    rise: Figure = must(Amount("points"), "pain limit rise", "next morning over baseline")


_FROM_ONE = Amount("days", (1, MOST_DAYS))
_REVIEW = Amount("days", (1, 366))
_DAYS = Amount("days")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A step of a pathway. Days are days in stage; ``opens_day`` counts from surgery or injury."""

    code: str
    name: str = must(Text(40), "name")
    purpose: str = must(Text(120), "purpose")
    minimum: Figure = must(_DAYS, "minimum", "stays at least this long", at_most="usual")
    usual: Figure = must(_FROM_ONE, "usual", at_most="stall")
    stall: Figure = must(_FROM_ONE, "stall", "longer than this is long in stage")
    review: Figure = must(_REVIEW, "review", "review interval")
    review_early: Figure | None = may(
        *(_REVIEW, "review, early", "review interval at the beginning of the episode"),
        at_most="review",
        beside=("review_early_days",),
    )
    review_early_days: Figure | None = may(_FROM_ONE, "review, early until", "of the episode")
    opens_day: Figure | None = may(
        *(_DAYS, "opens", "earliest, after surgery or injury"),
        key="opens",
        at_most="opens_day_large",
        from_onset=True,
    )
    opens_day_large: Figure | None = may(
        *(_DAYS, "opens, large tear", "earliest, large tear or poor tissue"),
        key="opens_large",
        from_onset=True,
    )
    combined_barred_before_day: Figure | None = may(
        *(_DAYS, "abduction with external rotation barred before", "after surgery or injury"),
        key="combined_barred_before",
        from_onset=True,
    )
    limits: Limits = must(Inner(Limits))
    adds: tuple[str, ...] = may(Several(LOAD_CLASSES), "adds load classes", default=())
    """What no earlier stage allows."""
    allowed: tuple[str, ...]
    """Every load class allowed, earlier stages' included."""
    protected: bool = may(Yes(), "protected", default=False)
    opens_with_union: bool = may(Yes(), "opens with union", default=False, from_onset=True)
    combined_barred: bool = may(Yes(), "abduction with external rotation barred", default=False)
    """Combined abduction and external rotation is barred all stage."""
    shut_by_event: bool = may(Yes(), "shut by a further dislocation or slip", default=False)
    """Until a new onset or a decision says how healing counts after it (ruling 94)."""
    exit: tuple[Criterion, ...] = may(Apart(), "exit criterion", default=())
    step_back: tuple[Criterion, ...] = may(Apart(), "step back criterion", default=())
    """Any of these true advises a step back (a sustained flare always does, after the first stage)."""
    range_warnings: tuple[tuple[Criterion, str], ...] = may(Apart(), "range warning", default=())
    """(criterion for concern, text): printed, never blocking."""
    precautions: tuple[str, ...] = may(Texts(), "precaution", default=())
    patient_words: str | None = may(Text(240), "said to the patient")
    """What the patient is told of the stage itself, in place of what is said of pain above its limits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferRule:
    """A rule that ends in REFER until a referral or decision entry names it."""

    rule: str = must(OneOf(REFER_RULES))
    text: str = must(Text(160))
    source: str = must(SOURCE)
    status: str = must(STATUS)
    stages: tuple[str, ...] = may(Several("stages"), default=())
    from_day: int | None = may(Count(0, MOST_DAYS), from_onset=True)
    age_from: int | None = may(Count(1, 120))
    findings: tuple[tuple[str, str], ...] = may(Answers(FINDINGS), default=())
    """(finding, answer): any one of them."""
    lift_below: int | None = may(Count(1, 180))
    """Active lift below this many degrees."""
    measure: str | None = may(OneOf(MEASURES), beside=("change_below", "over_days"))
    change_below: int | None = may(Count(1, 180))
    over_days: int | None = may(Count(1, MOST_DAYS))
    same_rater: bool = may(Yes(), default=False)
    past_stall: bool = may(Yes(), default=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftFrom:
    """From when on a shoulder that cannot lift is a reason (ruling 65, cause b); one of the three."""

    days: Figure | None = None
    """After surgery or injury; 0 always."""
    stage: str | None = may(OneOf("stages"))
    never: bool = False


TENDON, STIFF, ARTHRITIS = "tendon", "stiffness", "arthritis"
PLACINGS = (TENDON, STIFF, ARTHRITIS)
"""What a first visit looks for before it proposes a pathway that counts from no onset, and its stage."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pathway:
    """An agreed plan type for a kind of problem."""

    code: str
    name: str = must(Text(60), "name")
    clock: str | None = may(OneOf(CLOCKS), "counts from")
    """Which onset starts healing: "surgery", "dislocation", "fracture", or None."""
    placing: str | None = may(OneOf(PLACINGS), "a first visit places it as")
    """One of :data:`PLACINGS`; None with a clock, and where a first visit proposes the first stage alone."""
    score: str = must(OneOf("region scores"), "score")
    """The region score (an instrument) used to judge response."""
    lift_rule_from: LiftFrom | None = may(Apart())
    """None: not stated, and a reason from the first day on."""
    measure_range: tuple[str, ...] = may(Several("stages"), "passive range is measured in", default=())
    response_in: tuple[ScoreFigures, ...] = may(Apart(), default=())
    half_rule: str = must(OneOf(HALF_RULES), "half of the other side")
    """Half of the other side (drift): "always", "never", "from day n" or "not in STAGE"."""
    needs_orders: bool = may(Yes(), "needs the surgeon's orders", default=False, from_onset=True)
    drift_against_own_best_only: bool = may(Yes(), "range lost against the own best only", default=False)
    masked_is_unknown: bool = may(Yes(), "masked pain makes criteria unknown", default=False)
    span_by_run: bool = may(Yes(), "pain over several days met by one value and good sessions", default=False)
    """A pain criterion over days or observations is met by one fresh value and a run that spans them."""
    stall_words: str = may(Text(60), "words for long in stage, before its days", default="long after")
    checkpoint: Figure = must(_FROM_ONE, "checkpoint")
    early_look: Figure | None = may(_FROM_ONE, "early look", at_most="checkpoint")
    sling_until_day: Figure | None = may(_DAYS, "sling until day", key="sling_until", from_onset=True)
    """Last template day of the sling (after surgery)."""
    half_rule_from_day: Figure | None = may(
        _DAYS, "half of the other side from day", key="half_rule_from", from_onset=True
    )
    half_rule_not_in: tuple[str, ...] = may(Several("stages"), default=())
    stiffness_from_day: Figure | None = may(
        *(_DAYS, "stiffness read in values from day"),
        key="stiffness_from",
        at_most="stiffness_judged_day",
        beside=("stiffness_judged_day", "stiffness_flexion", "stiffness_rotation"),
        from_onset=True,
    )
    stiffness_judged_day: Figure | None = may(_DAYS, "stiffness judged from day", key="stiffness_judged")
    stiffness_flexion: Figure | None = may(Amount("degrees"), "stiff below passive flexion")
    stiffness_rotation: Figure | None = may(Amount("degrees"), "stiff below passive external rotation")
    best_from_day: Figure | None = may(_DAYS, "best range counts from day", key="best_from", from_onset=True)
    """Drift: best values count from this day after the onset (fracture)."""
    cautions: tuple[str, ...] = may(Texts(), "caution", default=())
    triggers: tuple[Trigger, ...] = may(Apart(), "trigger", key="trigger", default=())
    """In the order in which they speak; those of all pathways follow."""
    refer: tuple[ReferRule, ...] = may(Apart(), "refer", default=())
    stages: tuple[Stage, ...]

    def stage(self, code: str) -> Stage | None:
        """The stage with this code, or None when the file no longer has it."""
        return next((s for s in self.stages if s.code == code), None)

    def index(self, code: str) -> int:
        """Position of the stage, 0 first; -1 when the file no longer has it."""
        return next((i for i, s in enumerate(self.stages) if s.code == code), -1)


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
    completed: tuple[str, ...] = ()
    """Parts that came after the shipped version these rules were made from, and stand as shipped."""
    origin: str = ""
    """Where they lie, in words: shipped with the program, or the clinic's own."""
    figures: dict[str, Figure] = field(default_factory=dict[str, Figure])
    pathways: dict[str, Pathway] = field(default_factory=dict[str, Pathway])
    measures: dict[str, MeasureSpec] = field(default_factory=dict[str, MeasureSpec])
    instruments: dict[str, InstrumentSpec] = field(default_factory=dict[str, InstrumentSpec])
    ranks: dict[str, Rank] = field(default_factory=dict[str, Rank])
    """By inside code (RED, INJ, ...)."""
    do: Mapping[str, tuple[Do, ...]] = field(default_factory=dict[str, tuple[Do, ...]])
    """What to do about a reason, by inside code; the first row that fits the case."""
    leads: tuple[Lead, ...] = ()
    """What a patient with a red flag is to do, the most urgent first."""
    screen_items: dict[str, ScreenItem] = field(default_factory=dict[str, ScreenItem])
    message_words: MessageWords
    triggers: tuple[Trigger, ...] = ()
    """Of every pathway, after its own."""
    contradictions: tuple[Contradiction, ...] = ()
    finding_stale_days: dict[str, Figure] = field(default_factory=dict[str, Figure])
    finding_lasts: tuple[str, ...] = ()
    """Findings that an exit asks for and that never go stale."""
    exercises: tuple[Exercise, ...] = ()
    """The catalogue, in the order of its file."""
    class_order: tuple[str, ...] = ()
    """Every load class from the least to the most a shoulder is asked for."""
    mobility_classes: tuple[str, ...] = ()
    """Those of movement without load."""
    ladders: tuple[ExerciseLadder, ...] = ()
    constant: ConstantPoints
    words: PatientWords = field(compare=False, repr=False)
    """What is said to a patient, in which words: no rule, and under no signature."""
    digest: str = field(default="", init=False, compare=False, repr=False)
    """Of the files they were read from, see :func:`armrise.store.rules.folder.place.digest_in_force`; empty
    for rules made otherwise, as by changing a number of others."""

    def known_as(self, digest: str) -> Self:
        """These rules, with the digest of the files they were read from."""
        made = replace(self)
        object.__setattr__(made, "digest", digest)
        return made

    def said_in(self, words: PatientWords) -> Self:
        """The same rules, of the same files, with other words for a patient."""
        return replace(self, words=words).known_as(self.digest)

    @cached_property
    def identity(self) -> str:
        """What they are told from all others by: their digest, and without one a word nothing else has."""
        return self.digest or urandom(16).hex()

    def __getitem__(self, key: str) -> int:
        """The whole-number value of figure ``key`` ("baseline.window_days")."""
        return self._whole[key]

    def in_hand_days(self, row: Rank) -> int:
        """How many days ahead an answer to a reason may lie: by its tier, or by a figure of its own."""
        of_tier = "in_hand.most_days_today" if row.tier == TIERS[0] else "in_hand.most_days"
        return self[IN_HAND_OWN.get(row.code, of_tier)]

    def instruments_in(self, pathway: Pathway | None) -> dict[str, InstrumentSpec]:
        """The outcome scores, with the figures of one pathway where it has its own."""
        own = {one.instrument: one for one in pathway.response_in} if pathway else {}
        return {
            key: with_own(spec, own[key]) if key in own else spec for key, spec in self.instruments.items()
        }

    @cached_property
    def classes_in(self) -> dict[str, dict[str, str]]:
        """By pathway: the load class of each exercise that is of another class there (ruling 83)."""
        found: dict[str, dict[str, str]] = {}
        for exercise in self.exercises:
            for code, load_class in exercise.load_class_in:
                found.setdefault(code, {})[exercise.name] = load_class
        return found

    def exercise(self, name: str, code: str | None) -> Exercise | None:
        """One exercise of the catalogue with its load class in one pathway; None where there is none."""
        found = next((exercise for exercise in self.exercises if exercise.name == name), None)
        load_class = self.classes_in.get(code or "", {}).get(name)
        return replace(found, load_class=load_class) if found and load_class else found

    @cached_property
    def screen_severity(self) -> dict[str, Figure]:
        """How urgent each red-flag item is when the clinician gives nothing: 3 same day, 2 urgent, 1 soon."""
        return {name: item.urgency for name, item in self.screen_items.items()}

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
