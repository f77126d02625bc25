"""Every number and every word of the rules as rows, in the order of the files: for reading and for comparing.

A row that states a number or a criterion carries the source and the status beside it; a row of bare words
(a purpose, a precaution) carries neither. Nothing of the rules is left out: what no row says, no comparison
could show.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import MISSING, dataclass, fields, is_dataclass
from decimal import Decimal
from typing import Any, cast

from armrise.store.record.words import plain
from armrise.store.rules.exercise import Exercise
from armrise.store.rules.figure import STATUSES, Figure
from armrise.store.rules.pathway import FIGURES, Criterion, InstrumentSpec, Pathway, ReferRule, Rules, Stage
from armrise.store.rules.questionnaire import Form, Ladder
from armrise.store.rules.read_pathway import SMALLEST_STEP

_BESIDE = ("text", "source", "status", "parts", "rule")
_CONSTANT = ("line", "sleep", "hand_level", "elevation", "external_rotation", "internal_rotation")


@dataclass(frozen=True, slots=True)
class RuleRow:
    """One statement of the rules.

    ``place`` are the words it is found under, widest first (a pathway, its stage); ``subject`` is what a
    statement of a list is about, the same before and after a change of its number.
    """

    place: tuple[str, ...]
    head: str
    name: str
    value: str
    unit: str = ""
    meaning: str = ""
    source: str = ""
    status: str = ""
    subject: str = ""

    @property
    def stated(self) -> str:
        """The value with its unit."""
        return f"{self.value} {self.unit}".strip()


def rows(rules: Rules) -> tuple[RuleRow, ...]:
    """Every statement of the rules: what is common to all pathways first, then each pathway by stages."""
    return tuple(_rows(rules))


def _rows(rules: Rules) -> Iterator[RuleRow]:
    yield from _figures(rules)
    yield from _ranks(rules)
    yield from _named(
        "screen severities", "how urgent a red-flag answer is, 3 same day", rules.screen_severity
    )
    yield from _named(
        "findings go stale", "after this long a finding no longer counts", rules.finding_stale_days
    )
    yield from _measures(rules)
    for spec in rules.instruments.values():
        yield from _instrument(spec)
    yield from _constant(rules)
    yield from _exercises(rules)
    for pathway in rules.pathways.values():
        yield from _pathway(pathway)


def pick(every: Iterable[RuleRow], place: str = "", status: str = "") -> tuple[RuleRow, ...]:
    """The rows of one place (a pathway, a stage, "flare") and of one status; all of them without either."""
    wanted = place.strip().casefold()
    return tuple(
        row
        for row in every
        if (not wanted or wanted in (part.casefold() for part in row.place))
        and (not status or row.status == status)
    )


def places(every: Iterable[RuleRow]) -> tuple[str, ...]:
    """The words that rows can be asked for by, in order."""
    return tuple(dict.fromkeys(part for row in every for part in row.place))


def counted(every: Iterable[RuleRow]) -> tuple[tuple[str, int], ...]:
    """How many statements there are of each status."""
    number = Counter(row.status for row in every if row.status)
    return tuple((status, number[status]) for status in STATUSES)


def counted_words(every: Iterable[RuleRow]) -> str:
    """ "41 published, 30 common practice, 12 from memory, 60 design"."""
    return ", ".join(f"{number} {status}" for status, number in counted(every))


# --- what is common to all pathways -------------------------------------------------------------------------


def _words(key: str) -> str:
    return key.replace("_", " ")


def _figure(
    place: Sequence[str], head: str, name: str, figure: Figure | None, unit: str, meaning: str = ""
) -> Iterator[RuleRow]:
    if figure is not None:
        value, source, status = plain(figure.value), figure.source, figure.status
        yield RuleRow(tuple(place), head, name, value, unit, meaning, source, status)


def _say(place: Sequence[str], head: str, name: str, value: str) -> Iterator[RuleRow]:
    if value:
        yield RuleRow(tuple(place), head, name, value)


def _figures(rules: Rules) -> Iterator[RuleRow]:
    for key, description in FIGURES.items():
        group, _, name = key.partition(".")
        meaning, bracket, unit = description.removesuffix(")").rpartition(" (")
        if not bracket:
            meaning, unit = description, ""
        place = ("figures", _words(group))
        yield from _figure(place, _words(group), _words(name), rules.figures.get(key), unit, meaning)


def _ranks(rules: Rules) -> Iterator[RuleRow]:
    for rank in sorted(rules.ranks.values(), key=lambda row: row.rank):
        stated = f"rank {rank.rank} in {rank.tier}"
        yield RuleRow(("ranks",), "reasons for attention, first first", rank.name, stated, subject=rank.code)


def _named(head: str, meaning: str, figures: dict[str, Figure]) -> Iterator[RuleRow]:
    unit = "days" if head.endswith("stale") else ""
    for name, figure in figures.items():
        yield from _figure((head,), f"{head}: {meaning}", name, figure, unit)


def _measures(rules: Rules) -> Iterator[RuleRow]:
    for spec in rules.measures.values():
        place, head = ("measures", _words(spec.key)), f"measure: {_words(spec.key)}"
        way = "lower" if spec.lower_is_better else "higher"
        asked = "asking is enough" if spec.question else "measured"
        scale = f"{spec.label}, {plain(spec.low)} to {plain(spec.high)} {spec.unit}, {way} is better, {asked}"
        yield from _say(place, head, "scale", scale)
        yield from _figure(place, head, "stale after", spec.stale_days, "days")


def _instrument(spec: InstrumentSpec) -> Iterator[RuleRow]:
    place, head = ("scores", spec.key), f"score: {spec.key}"
    way = "lower" if spec.lower_is_better else "higher"
    judged = ", judged at the checkpoint" if spec.region else ""
    yield from _say(place, head, "scale", f"{plain(spec.low)} to {plain(spec.high)}, {way} is better{judged}")
    side = "or less" if spec.lower_is_better else "or more"
    for name, figure, unit, meaning in (
        ("response", spec.response, "points", "a change that counts as responded"),
        ("detectable", spec.detectable, "points", "a change beyond measurement error"),
        ("detectable, one rating", spec.detectable_single, "points", "the same for a mean of one rating"),
        ("acceptable", spec.acceptable, f"points {side}", "a total at which most people are content"),
        ("stale after", spec.stale_days, "days", ""),
    ):
        yield from _figure(place, head, name, figure, unit, meaning)
    if spec.form is not None:
        yield from _form(place, head, spec.form)


def _form(place: Sequence[str], head: str, form: Form) -> Iterator[RuleRow]:
    missing = f"in {form.missing_in}"
    yield from _figure(place, head, "may be left blank", form.missing, "items", missing)
    stated = told(form, ("source", "status", "missing", "missing_in"))
    yield RuleRow(tuple(place), head, "form", stated, "", "", form.source, form.status)


def _constant(rules: Rules) -> Iterator[RuleRow]:
    place, head = ("constant points",), "points of the Constant-Murley score"
    for name in _CONSTANT:
        ladder: Ladder = getattr(rules.constant, name)
        stated = told(ladder, ("source", "status"))
        yield RuleRow(place, head, _words(name), stated, "", "", ladder.source, ladder.status)
    yield from _figure(place, head, "strength", rules.constant.per_kg, "points a kg")


def _exercises(rules: Rules) -> Iterator[RuleRow]:
    yield from _say(
        ("exercises",), "exercises", "load classes, least asked first", " ".join(rules.class_order)
    )
    for one in rules.exercises:
        yield _listed(("exercises",), "exercises", one.name, _dose(one), "", one, one.name)


def _dose(one: Exercise) -> str:
    return told(one, ("name", "source", "status"))


# --- one pathway ------------------------------------------------------------------------------------------


def _pathway(found: Pathway) -> Iterator[RuleRow]:
    place, head = (found.code,), f"{found.code} {found.name}"
    yield from _say(place, head, "name", found.name)
    yield from _say(place, head, "counts from", found.clock or "")
    yield from _say(place, head, "a first visit places it as", found.placing or "")
    yield from _say(place, head, "score", found.score)
    yield from _say(place, head, "half of the other side", found.half_rule)
    for name, yes in (
        ("needs the surgeon's orders", found.needs_orders),
        ("range lost against the own best only", found.drift_against_own_best_only),
        ("masked pain makes criteria unknown", found.masked_is_unknown),
    ):
        yield from _say(place, head, name, "yes" if yes else "")
    for name, figure, unit in (
        ("checkpoint", found.checkpoint, "days"),
        ("early look", found.early_look, "days"),
        ("sling until day", found.sling_until_day, "days"),
        ("half of the other side from day", found.half_rule_from_day, "days"),
        ("stiffness looked for from day", found.stiffness_from_day, "days"),
        ("stiffness looked for to day", found.stiffness_to_day, "days"),
        ("stiff below passive flexion", found.stiffness_flexion, "degrees"),
        ("stiff below passive external rotation", found.stiffness_rotation, "degrees"),
        ("best range counts from day", found.best_from_day, "days"),
    ):
        yield from _figure(place, head, name, figure, unit)
    yield from _texts(place, head, "caution", found.cautions)
    for rule in found.refer:
        yield _refer(place, head, rule)
    before: set[str] = set()
    for stage in found.stages:
        yield from _stage(found.code, stage, tuple(c for c in stage.allowed if c not in before))
        before = set(stage.allowed)


def _refer(place: tuple[str, ...], head: str, rule: ReferRule) -> RuleRow:
    return _listed(place, head, f"refer: {rule.rule}", rule.text, told(rule, _BESIDE), rule, rule.rule)


def _stage(pathway: str, stage: Stage, added: Sequence[str]) -> Iterator[RuleRow]:
    place, head = (pathway, stage.code), f"{stage.code} {stage.name}"
    yield from _say(place, head, "name", stage.name)
    yield from _say(place, head, "purpose", stage.purpose)
    for name, figure, unit, meaning in _stage_figures(stage):
        yield from _figure(place, head, name, figure, unit, meaning)
    yield from _say(place, head, "adds load classes", " ".join(added))
    for name, yes in (
        ("protected", stage.protected),
        ("opens with union", stage.opens_with_union),
        ("abduction with external rotation barred", stage.combined_barred),
    ):
        yield from _say(place, head, name, "yes" if yes else "")
    for name, criteria in (("exit criterion", stage.exit), ("step back criterion", stage.step_back)):
        yield from _criteria(place, head, name, criteria)
    for criterion, warning in stage.range_warnings:
        stated = f"{criterion.text}: {warning}"
        about = f"range warning {_about(criterion)}"
        below = plain((criterion.at_most or Decimal(0)) + SMALLEST_STEP)
        asked = f"{_asked(criterion, 'at_most')}, below {below}"
        yield _listed(place, head, "range warning", stated, asked, criterion, about)
    yield from _texts(place, head, "precaution", stage.precautions)


def _stage_figures(stage: Stage) -> Iterator[tuple[str, Figure | None, str, str]]:
    yield "minimum", stage.minimum, "days", "stays at least this long"
    yield "usual", stage.usual, "days", ""
    yield "stall", stage.stall, "days", "longer than this is long in stage"
    yield "review", stage.review, "days", "review interval"
    yield "review, early", stage.review_early, "days", "review interval at the beginning of the episode"
    yield "review, early until", stage.review_early_days, "days", "of the episode"
    yield "opens", stage.opens_day, "days", "earliest, after surgery or injury"
    yield "opens, large tear", stage.opens_day_large, "days", "earliest, large tear or poor tissue"
    barred = stage.combined_barred_before_day
    yield "abduction with external rotation barred before", barred, "days", "after surgery or injury"
    yield "pain limit during", stage.limits.during, "points", ""
    yield "pain limit later", stage.limits.later, "points", "later the same day"
    yield "pain limit rise", stage.limits.rise, "points", "next morning over baseline"


def _criteria(
    place: tuple[str, ...], head: str, name: str, criteria: Iterable[Criterion], within: str = ""
) -> Iterator[RuleRow]:
    for criterion in criteria:
        about = f"{within}{name} {_about(criterion)}"
        yield _listed(place, head, name, criterion.text, _asked(criterion), criterion, about)
        inner = "part of any" if criterion.kind == "any" else "part of all"
        yield from _criteria(place, head, inner, criterion.parts, f"{about}: ")


def _asked(criterion: Criterion, *leave_out: str) -> str:
    """What a criterion asks for, its kind said once: "measure night pain, at most 3", "sessions, good 3"."""
    facts = told(criterion, (*_BESIDE, "kind", *leave_out))
    named = criterion.kind in ("measure", "finding")
    return facts if named else ", ".join(part for part in (criterion.kind, facts) if part)


def _about(criterion: Criterion) -> str:
    """What a criterion is about, without its numbers: the same before and after they change."""
    named = (criterion.measure, criterion.finding, criterion.instrument, criterion.by, *criterion.load_class)
    return " ".join(word for word in (criterion.kind, *named) if word)


def _listed(
    place: tuple[str, ...],
    head: str,
    name: str,
    value: str,
    meaning: str,
    of: Criterion | ReferRule | Exercise,
    subject: str,
) -> RuleRow:
    return RuleRow(place, head, name, value, "", meaning, of.source, of.status, subject)


def _texts(place: tuple[str, ...], head: str, name: str, texts: Iterable[str]) -> Iterator[RuleRow]:
    for text in texts:
        yield RuleRow(place, head, name, text, subject=f"{name} {text}")


# --- a record in words --------------------------------------------------------------------------------------


def told(record: Any, leave_out: Sequence[str] = ()) -> str:
    """The fields of a record that are not as they are by default, as "name value, name value"."""
    said: list[str] = []
    for field in fields(record):
        value = getattr(record, field.name)
        plainly = None if field.default is MISSING else field.default
        if field.name in leave_out or value in (None, (), "") or value == plainly:
            continue
        said.append(_words(field.name) if value is True else f"{_words(field.name)} {_value(value)}")
    return ", ".join(said)


def _value(value: Any) -> str:
    if isinstance(value, Decimal | int) and not isinstance(value, bool):
        return plain(Decimal(value))
    if isinstance(value, tuple):
        return " / ".join(_value(one) for one in cast("tuple[Any, ...]", value))
    if is_dataclass(value):
        return told(value)
    return _words(str(value))
