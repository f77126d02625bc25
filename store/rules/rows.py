"""Every number and every word of the rules as rows, in the order of the files: for reading and for comparing.

A row that states a number or a criterion carries the source and the status beside it; a row of bare words
(a purpose, a precaution) carries neither. Nothing of the rules is left out: what no row says, no comparison
could show.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from typing import Any, cast

from armrise.store.record.light import dataclass
from armrise.store.record.words import plain, with_unit
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.declared import Amount, Apart, Count, Inner, Several, Texts, Yes, keys
from armrise.store.rules.do import Do
from armrise.store.rules.exercise import Exercise, ExerciseLadder
from armrise.store.rules.figure import STATUSES, Figure
from armrise.store.rules.figures import FIGURES
from armrise.store.rules.measure import InstrumentSpec
from armrise.store.rules.pathway import LiftFrom, Pathway, ReferRule, Rules
from armrise.store.rules.questionnaire import Form, Ladder
from armrise.store.rules.read_pathway import SMALLEST_STEP
from armrise.store.rules.red_flag import Lead
from armrise.store.rules.trigger import DAYS, Contradiction, Trigger

_BESIDE = ("text", "source", "status", "parts", "rule")
Stated = Criterion | ReferRule | Trigger | Contradiction | Exercise | ExerciseLadder | Lead | Do
"""What carries its source and status itself."""
RANKS, TO_DO = ("ranks",), ("what to do",)
"""Places whose statements are about a reason, not named by themselves."""
_DAYS = ("from_day", "found_from", "to_day")
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
        return with_unit(self.value, self.unit)


def rows(rules: Rules) -> tuple[RuleRow, ...]:
    """Every statement of the rules: what is common to all pathways first, then each pathway by stages."""
    return tuple(_rows(rules))


def _rows(rules: Rules) -> Iterator[RuleRow]:
    yield from _figures(rules)
    yield from _ranks(rules)
    yield from _do(rules)
    yield from _red_flags(rules)
    yield from _decides(("findings",), "findings that decide, in every pathway", "finding", rules.triggers)
    yield from _contradictions(rules)
    yield from _stale(rules)
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
    if name and value:
        yield RuleRow(tuple(place), head, name, value)


def _figures(rules: Rules) -> Iterator[RuleRow]:
    for key, rule in FIGURES.items():
        group, _, name = key.partition(".")
        place = ("figures", _words(group))
        yield from _figure(
            place, _words(group), _words(name), rules.figures.get(key), rule.unit, rule.meaning
        )


def _ranks(rules: Rules) -> Iterator[RuleRow]:
    for rank in sorted(rules.ranks.values(), key=lambda row: row.rank):
        stated = f"rank {rank.rank} in {rank.tier}"
        yield RuleRow(RANKS, "reasons for attention, first first", rank.name, stated, subject=rank.code)


def _do(rules: Rules) -> Iterator[RuleRow]:
    place, head = TO_DO, "what to do about a reason: the first row that fits the case"
    for code, offered in rules.do.items():
        for one in offered:
            when = told(one, ("reason", "steps", "no_answer", "at_visit", *_BESIDE))
            name, about = rules.ranks[code].name, f"{code} {when}".strip()
            yield _listed(place, head, name, one.words, when, one, about)


def _red_flags(rules: Rules) -> Iterator[RuleRow]:
    place, head = ("red flags",), "red flags: what the patient is told, the most urgent first"
    for lead in rules.leads:
        yield _listed(place, head, "lead", lead.words, lead.name, lead, lead.name)
    head = "red flags: how urgent an item is, 3 same day"
    for item in rules.screen_items.values():
        asked = told(item, ("name", "severity", "source", "status"))
        yield from _figure(place, head, item.name, item.urgency, "", asked)
    head = "red flags: words of a message and the item they ask for"
    for word, item in rules.message_words.items.items():
        yield RuleRow(place, head, word, item, subject=word)
    yield from _say(place, head, "not directly after", ", ".join(rules.message_words.not_after))
    yield from _say(place, head, "not directly before", ", ".join(rules.message_words.not_before))


def _stale(rules: Rules) -> Iterator[RuleRow]:
    place, head = ("findings go stale",), "findings go stale: after this long a finding no longer counts"
    for name, figure in rules.finding_stale_days.items():
        yield from _figure(place, head, name, figure, "days")
    for name in rules.finding_lasts:
        yield from _say(place, head, name, "never")


def _decides(place: tuple[str, ...], head: str, name: str, triggers: Iterable[Trigger]) -> Iterator[RuleRow]:
    for one in triggers:
        # Which reason it is follows from whether it opens an item of the red-flag screen.
        asked = f"{_conditions(one)}; {told(one, ('key', 'when', 'reason', *_DAYS, *_BESIDE))}"
        text = one.text.replace(DAYS, "n")
        yield _listed(place, head, f"{name}: {one.key}", text, asked, one, one.key)
        yield from _days(place, head, f"{name}: {one.key}", one)


def _contradictions(rules: Rules) -> Iterator[RuleRow]:
    place, head = ("findings",), "screen says no, finding says yes"
    for one in rules.contradictions:
        seen = _conditions(one) or f"worse at visits, cause {one.visit_cause}"
        asked = told(one, ("item", "when", "visit_cause", *_DAYS, *_BESIDE))
        yield _listed(place, head, one.item, seen, asked, one, f"{one.item} {seen}")
        yield from _days(place, head, one.item, one)


def _days(place: tuple[str, ...], head: str, name: str, one: Trigger | Contradiction) -> Iterator[RuleRow]:
    for key in _DAYS:
        yield from _figure(place, head, f"{name}, {_words(key)}", getattr(one, key, None), "days")


def _conditions(one: Trigger | Contradiction) -> str:
    """ "finding badge sensation lost, answer yes or finding deltoid contracts, answer no"."""
    return " or ".join(told(condition) for condition in one.when)


def _measures(rules: Rules) -> Iterator[RuleRow]:
    for spec in rules.measures.values():
        place, head = ("measures", _words(spec.key)), f"measure: {_words(spec.key)}"
        way = "lower" if spec.lower_is_better else "higher"
        asked = "asking is enough" if spec.question else "measured"
        scale = f"{spec.label}, {plain(spec.low)} to {plain(spec.high)} {spec.unit}, {way} is better, {asked}"
        yield from _say(place, head, "scale", scale)
        yield from _declared(place, head, spec)


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
    yield from _say(("exercises",), "exercises", "movement without load", " ".join(rules.mobility_classes))
    for one in rules.exercises:
        yield _listed(("exercises",), "exercises", one.name, _dose(one), "", one, one.name)
    for one in rules.ladders:
        name, rungs = f"ladder: {one.name}", " / ".join(one.rungs)
        limit = f"; arc up to the ordered {one.limit.replace('_', ' ')}" if one.limit else ""
        yield _listed(("exercises",), "exercises", name, f"{rungs}{limit}", "", one, one.name)


def _dose(one: Exercise) -> str:
    return told(one, ("name", "source", "status"))


# --- one pathway ------------------------------------------------------------------------------------------


def _pathway(found: Pathway) -> Iterator[RuleRow]:
    place, head = (found.code,), f"{found.code} {found.name}"
    yield from _declared(place, head, found)
    yield from _lift(place, head, found.lift_rule_from)
    for one in found.response_in:
        for name in ("response", "detectable", "acceptable"):
            yield from _figure(place, head, f"{one.instrument}, {name}", getattr(one, name), "points")
    for stage in found.stages:
        yield from _declared((found.code, stage.code), f"{stage.code} {stage.name}", stage)


def _lift(place: tuple[str, ...], head: str, found: LiftFrom | None) -> Iterator[RuleRow]:
    name = "cannot lift is a reason from"
    if found is None:
        return
    yield from _figure(place, head, f"{name} day", found.days, "days", "after surgery or injury")
    yield from _say(place, head, name, "never" if found.never else found.stage or "")


def _declared(place: tuple[str, ...], head: str, record: object) -> Iterator[RuleRow]:
    """A row for each key that has a name, in the order of the declaration."""
    for field, key in keys(type(record)).items():
        value = getattr(record, field)
        match key.rule:
            case Amount(unit):
                yield from _figure(place, head, key.name, value, unit, key.meaning)
            case Inner():
                yield from _declared(place, head, value)
            case Count():
                yield from _say(place, head, key.name, "" if value is None else str(value))
            case Several():
                yield from _say(place, head, key.name, " ".join(value))
            case Yes():
                yield from _say(place, head, key.name, "yes" if value else "")
            case Texts():
                yield from _texts(place, head, key.name, value)
            case Apart():
                for one in value if key.name else ():
                    yield from _part(place, head, key.name, one)
            case _:
                yield from _say(place, head, key.name, value or "")


def _part(
    place: tuple[str, ...],
    head: str,
    name: str,
    part: Criterion | ReferRule | Trigger | tuple[Criterion, str],
) -> Iterator[RuleRow]:
    if isinstance(part, Trigger):
        yield from _decides(place, head, name, (part,))
    elif isinstance(part, ReferRule):
        about, asked = part.rule, told(part, _BESIDE)
        yield _listed(place, head, f"{name}: {about}", part.text, asked, part, about)
    elif isinstance(part, Criterion):
        yield from _criteria(place, head, name, (part,))
    else:
        criterion, warning = part
        below = plain((criterion.at_most or Decimal(0)) + SMALLEST_STEP)
        asked = f"{_asked(criterion, 'at_most')}, below {below}"
        stated, about = f"{criterion.text}: {warning}", f"{name} {_about(criterion)}"
        yield _listed(place, head, name, stated, asked, criterion, about)


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
    of: Stated,
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
