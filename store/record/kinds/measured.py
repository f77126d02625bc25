"""What is measured, scored or observed, and targets typed where the other side is no reference."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from armrise.store.record.fields import Absence, Choice, Flag, Number, Series, Words, may, must
from armrise.store.record.kinds.head import ANSWERS, SIDES, Entry

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
class Finding(Entry):
    """A dated observation stored as the thing observed ("shrug seen": "no")."""

    KIND: ClassVar[str] = "finding"

    name: str = must(Choice(FINDINGS))
    answer: str = must(Choice(ANSWERS))
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Target(Entry):
    """A target typed by the clinician, with the reason, where the other side is no reference."""

    KIND: ClassVar[str] = "target"

    measure: str = must(Choice(MEASURES))
    value: Decimal = must(Number(-20, 200, 2))
    reason: str = must(Words(200, 3))
