"""What is measured, scored or observed, and targets typed where the other side is no reference."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar

from armrise.store.record.fields import Absence, Choice, Flag, Number, Series, Words, may, must
from armrise.store.record.kinds.head import ANSWERS, SIDES, Entry, Names
from armrise.store.record.light import dataclass
from armrise.store.record.words import joined, listed, placed, plain, value_words, with_unit

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
STRENGTHS = tuple(name for name in MEASURES if name.endswith("_strength"))
"""The strength tests: drawn, compared with their error, and alone recorded in units of choice."""
BACK_LEVELS = (
    "trochanter",
    "buttock",
    "sacrum",
    *(f"L{n}" for n in range(5, 0, -1)),
    *(f"T{n}" for n in range(12, 0, -1)),
)
"""How high the thumb reaches behind the back, 0 to 19 by their place (order from memory, common; numbering by
design of this project: trochanter 0, buttock 1, sacrum 2, L5 3 ... L1 7, T12 8 ... T1 19)."""
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
BETWEEN = "; "
"""What stands between the names of own activities."""
ACTIVITY_LONGEST = 30
"""Characters of one of these names: three, and what is between them, fit into the field."""
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
    MEANING: ClassVar[str] = "one measurement: range, strength, pain, nights"
    GROUPS: ClassVar[tuple[str, ...]] = ("measures",)

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

    @property
    def real(self) -> bool:
        """True for something that was measured: no absence, no repeated value."""
        return not isinstance(self.value, Absence) and not self.repeated

    def sentence(self, names: Names | None, day: str) -> str:
        """What was measured, the value with its unit, and how."""
        label, unit = named_measure(self.name, names)
        said = value_words(self.value)
        if not isinstance(self.value, Absence):
            said = with_unit(said, self.unit or unit)
        side = f" {self.side}" if self.side else ""
        how = listed(
            self.method,
            self.position,
            f"limited by {self.limited_by}" if self.limited_by else "",
            f"measured by {self.rater}" if self.rater and self.rater != self.author else "",
            "repeated, not measured" if self.repeated else "",
            "confirmed as measured" if self.confirmed else "",
        )
        return joined(f"{label}{side}: {said}{placed('on', day)}", how)


def named_measure(name: str, names: Names | None) -> tuple[str, str]:
    """A measure's label and its unit; without ``names`` its own name and nothing."""
    spec = names.measures.get(name) if names else None
    return (spec.label, spec.unit) if spec else (name.replace("_", " "), "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Score(Entry):
    """The total of a questionnaire. ``total`` is None when the form came back incomplete.

    ``activities`` names the patient's own activities by the places of ``items``, :data:`BETWEEN` them.
    """

    KIND: ClassVar[str] = "score"
    MEANING: ClassVar[str] = "the total of a questionnaire"
    GROUPS: ClassVar[tuple[str, ...]] = ("measures",)

    instrument: str = must(Choice(INSTRUMENTS))
    total: Decimal | Absence | None = may(Number(-10, 2100, 2, absent=True))
    formula: str | None = may(Choice(("mean of subscales", "all items", "new 0-48", "old 12-60")))
    version: str | None = may(Words(40))
    language: str | None = may(Words(20))
    filled_by: str | None = may(Choice(("patient", "carer", "interview")))
    items: tuple[Decimal | None, ...] = may(Series(-7, 100, 1, 30, blanks=True), ())
    """Answers by the number of their item on the licensed form, None where one was left blank; no wording."""
    activities: str | None = may(Words(120))

    @property
    def named(self) -> tuple[str, ...]:
        """The activities by their places; "" for a place without a name."""
        return tuple(name.strip() for name in (self.activities or "").split(BETWEEN.strip()))

    def sentence(self, names: Names | None, day: str) -> str:
        """The total with its range and direction, or that there is none; how it came about."""
        said = "incomplete, no total" if self.total is None else value_words(self.total) + self._range(names)
        answered = sum(item is not None for item in self.items)
        how = listed(
            f"{answered} of {len(self.items)} items answered" if self.items else "",
            self.formula,
            self.version,
            self.language,
            f"filled in by {self.filled_by}" if self.filled_by else "",
            listed(*filter(None, self.named)),
        )
        return joined(f"{self.instrument}: {said}{placed('on', day)}", how)

    def _range(self, names: Names | None) -> str:
        """ " (of 0 to 100, lower is better)"; nothing for an absence or an unknown instrument."""
        if not isinstance(self.total, Decimal):
            return ""
        if self.formula == "old 12-60":
            return " (of 12 to 60, lower is better)"
        spec = names.instruments.get(self.instrument) if names else None
        better = "lower" if spec and spec.lower_is_better else "higher"
        return f" (of {plain(spec.low)} to {plain(spec.high)}, {better} is better)" if spec else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Entry):
    """A dated observation stored as the thing observed ("shrug seen": "no")."""

    KIND: ClassVar[str] = "finding"
    MEANING: ClassVar[str] = "a dated yes or no, such as a shrug seen"
    GROUPS: ClassVar[tuple[str, ...]] = ("measures",)

    name: str = must(Choice(FINDINGS))
    answer: str = must(Choice(ANSWERS))
    note: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """What was looked for, and the answer."""
        return joined(f"finding, {self.name}: {self.answer}{placed('on', day)}", self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target(Entry):
    """A target typed by the clinician, with the reason, where the other side is no reference."""

    KIND: ClassVar[str] = "target"
    MEANING: ClassVar[str] = "a value to reach where the other side is no reference"
    GROUPS: ClassVar[tuple[str, ...]] = ("measures",)

    measure: str = must(Choice(MEASURES))
    value: Decimal = must(Number(-20, 200, 2))
    reason: str = must(Words(200, 3))

    def sentence(self, names: Names | None, day: str) -> str:
        """The value to reach, and why it was set by hand."""
        label, unit = named_measure(self.measure, names)
        return joined(
            f"target, {label}: {with_unit(plain(self.value), unit)}{placed('from', day)}", self.reason
        )
