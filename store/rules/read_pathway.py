"""Reads one pathway file: its stages, their criteria, and the rules that end in a referral."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.rules.criterion import CRITERION_KINDS, Criterion
from armrise.store.rules.declared import Apart, Around, keys, read, take
from armrise.store.rules.folder.signature import COMMON
from armrise.store.rules.measure import ScoreFigures
from armrise.store.rules.pathway import LiftFrom, Pathway, ReferRule, Rules, Stage
from armrise.store.rules.read_form import score_figures
from armrise.store.rules.table import WIDEST, Range, Table, shown
from armrise.store.rules.trigger import triggers

DEEPEST = 3
"""Levels of any / all inside each other."""

_CONDITIONS = ("findings", "lift_below", "measure", "past_stall")
_BOUNDS = ("at_least", "at_most")
_NEEDED_BOUND = {"during": "at_most", "adherence": "at_least"}
_KEYS = keys(Criterion)
SMALLEST_STEP = Decimal("0.01")
"""Values are recorded with two decimals at most, so "below n" is "at most n less this"."""


def pathway(table: Table, code: str, rules: Rules) -> Pathway:
    """The pathway ``code`` from its file. ``rules`` supplies the measures and instruments it may name."""
    if table.words("code", 2) != code and not table.spoiled("code"):
        table.fault("code", f"is {table.data['code']}, allowed is the name of the file, {code}")
    clock = take(table, keys(Pathway)["clock"])
    regional = [key for key, spec in rules.instruments.items() if spec.region]
    if table.faults.keep and not regional:  # the instruments could not be read
        regional = list(rules.instruments)
    around = Around({"region scores": regional}, bool(clock) or table.spoiled("clock"))
    stages = _stages(table, code, clock, around, rules)
    around = Around({**around.lists, "stages": [stage.code for stage in stages]}, around.clocked)
    refer = table.gather(table.tables("refer", "refer rule"), lambda part: _refer(part, around))
    found = read(
        *(table, Pathway, around),
        code=code,
        stages=stages,
        refer=tuple(refer),
        triggers=triggers(table, around),
        lift_rule_from=_lift_rule(table, around),
        response_in=_response_in(table, rules),
    )
    if found.clock and found.placing and not table.spoiled("clock", "placing"):
        table.fault("placing", "has no effect beside clock: the days since the onset say where a case begins")
    return replace(found, half_rule=_half_rule(table, found))


def _lift_rule(table: Table, around: Around) -> LiftFrom | None:
    """Days with their source, a stage, or the word "never"."""
    key = "lift_rule_from"
    if not table.has(key):
        return None
    said = table.data[key]
    if said == "never":
        return LiftFrom(never=True)
    if isinstance(said, dict) and "stage" in said:
        return read(table.table(key), LiftFrom, around)
    return LiftFrom(days=table.figure(key, "days"))


def _response_in(table: Table, rules: Rules) -> tuple[ScoreFigures, ...]:
    return score_figures(table.table("response_in"), rules.instruments) if table.has("response_in") else ()


def _half_rule(table: Table, found: Pathway) -> str:
    """The rule with its day or its stages."""
    word, day, spared = found.half_rule, found.half_rule_from_day, found.half_rule_not_in
    if (word == "from day") != (day is not None) and not table.spoiled("half_rule", "half_rule_from"):
        table.fault("half_rule_from", 'goes with half_rule = "from day", and only with it')
    if (word == "not in") != bool(spared) and not table.spoiled("half_rule", "half_rule_not_in"):
        table.fault("half_rule_not_in", 'goes with half_rule = "not in", and only with it')
    if day:
        return f"from day {day.whole}"
    return f"not in {', '.join(spared)}" if spared else word


def _stages(table: Table, code: str, clock: str | None, around: Around, rules: Rules) -> tuple[Stage, ...]:
    stages: list[Stage] = []
    for part in table.tables("stage", "stage"):
        name = _stage_code(part, code, stages)
        part.where = part.where if part.spoiled("code") else f"stage {name}"
        before = stages[-1].allowed if stages else ()
        added = {*part.choices("adds", LOAD_CLASSES)}
        stage = read(
            part,
            Stage,
            around,
            code=name,
            adds=tuple(word for word in LOAD_CLASSES if word in added.difference(before)),
            allowed=tuple(word for word in LOAD_CLASSES if word in added.union(before)),
            exit=_criteria(part, "exit", rules),
            step_back=_criteria(part, "step_back", rules),
            range_warnings=_range_warnings(part, rules),
        )
        _check_stage(part, stage)
        if not clock and not table.spoiled("clock"):
            _check_undated(part, stage)
        stages.append(stage)
        if clock and not table.spoiled("clock"):
            _check_opening(part, stages)
    if not stages and not table.spoiled("stage"):
        table.fault("stage", "is missing, needed is at least one [[stage]]")
    return tuple(stages)


def _stage_code(part: Table, code: str, stages: Sequence[Stage]) -> str:
    name = part.words("code", 4)
    if part.spoiled("code"):
        return name
    if not _fits(name, code):
        part.fault("code", f"is {shown(name)}, allowed is {code} and a number")
    elif name in {stage.code for stage in stages}:
        part.fault("code", f"is {name}, which an earlier stage has already")
    elif stages and _fits(stages[-1].code, code) and int(name[2:]) < int(stages[-1].code[2:]):
        part.fault("code", f"is {name} after {stages[-1].code}, allowed are rising numbers")
    return name


def _fits(name: str, code: str) -> bool:
    return name.startswith(code) and name[2:].isdecimal() and name.isascii()


def _check_stage(part: Table, found: Stage) -> None:
    if not found.exit and not part.spoiled("exit") and not part.items("exit"):
        part.fault(
            "exit", "is missing, needed is at least one criterion: without any the stage is always ready"
        )
    if not found.allowed and not part.spoiled("adds"):
        part.fault("adds", "allows no load class at all, needed is at least one")


def _check_undated(part: Table, found: Stage) -> None:
    """No criterion counts days from a surgery or injury that the pathway does not count from."""
    if any(one.from_day for one in _inside((*found.exit, *found.step_back))):
        part.fault("from_day", "counts from surgery or injury, and the file states no clock")


def _inside(criteria: Iterable[Criterion]) -> Iterator[Criterion]:
    for one in criteria:
        yield one
        yield from _inside(one.parts)


def _check_opening(part: Table, stages: Sequence[Stage]) -> None:
    """Every stage of a pathway with a clock states an opening day, and they rise."""
    stage = stages[-1]
    if stage.opens_day is None and not part.spoiled("opens"):
        part.fault("opens", "is missing, needed is the earliest day after surgery or injury")
    if len(stages) > 1:
        before = stages[-2]
        for key, earlier, later in (
            ("opens", before.opens_day, stage.opens_day),
            ("opens_large", before.opens_day_large, stage.opens_day_large),
        ):
            if earlier and later and later.value <= earlier.value:
                part.fault(
                    key, f"is day {later.value}, allowed is later than day {earlier.value} of {before.code}"
                )
        if before.opens_day_large and not stage.opens_day_large and not part.spoiled("opens_large"):
            part.fault("opens_large", f"is missing, needed because {before.code} states it")


def _criteria(part: Table, key: str, rules: Rules) -> tuple[Criterion, ...]:
    return tuple(part.gather(part.tables(key, f"{key} criterion"), lambda inner: _criterion(inner, rules)))


def _range_warnings(part: Table, rules: Rules) -> tuple[tuple[Criterion, str], ...]:
    inner = part.tables("range_warning", "range warning")
    return tuple(part.gather(inner, lambda table: _range_warning(table, rules)))


def _range_warning(inner: Table, rules: Rules) -> tuple[Criterion, str]:
    warning = inner.words("warning")
    inner.choice("kind", ("measure",))
    for key in _BOUNDS:
        if key in inner.data:
            inner.fault(key, "is not known here, needed is below")
    below = inner.number("below", (-20, 180))
    inner.data = {key: value for key, value in inner.data.items() if key not in _BOUNDS}
    inner.data["at_most"] = below - SMALLEST_STEP
    return _criterion(inner, rules), warning


def _criterion(part: Table, rules: Rules) -> Criterion:
    kind = take(part, _KEYS["kind"])
    values = {key: take(part, _KEYS[key]) for key in ("text", "source", "status")}
    if part.spoiled("kind"):
        part.give_up()  # nobody can say which of its fields count
    counts = CRITERION_KINDS[kind]
    values |= {key: take(part, _KEYS[key]) for key in counts if not isinstance(_KEYS[key].rule, Apart)}
    if "parts" in counts:
        values["parts"] = _parts(part, rules)
    for key in _BOUNDS:
        if key in counts and part.has(key):
            values[key] = part.number(key, _range(part, kind, rules), whole=False)
    part.done()
    _check_bounds(part, kind, values)
    if kind == "finding":
        _check_stale(part, values, rules)
    return Criterion(kind=kind, **values)


def _check_bounds(part: Table, kind: str, values: dict[str, Any]) -> None:
    bounds = [key for key in _BOUNDS if key in values]
    if kind in ("measure", "score") and not bounds:
        part.fault("at_least", "is missing, needed is at_least or at_most")
    both = len(bounds) == 2 and not part.spoiled(*_BOUNDS)
    if both and values["at_least"] > values["at_most"]:
        part.fault("at_least", f"is {values['at_least']}, allowed is at most at_most, {values['at_most']}")
    alone = values.get("observations", 1) < 2 and not part.spoiled("apart_days", "observations")
    if values.get("apart_days") and alone:
        part.fault("apart_days", "needs observations of 2 or more beside it")
    needed = _NEEDED_BOUND.get(kind)
    if needed and needed not in values:
        part.fault(needed, "is missing, needed is a number")


def _check_stale(part: Table, values: dict[str, Any], rules: Rules) -> None:
    """Whether a finding goes stale is stated, with the exit or for the finding, and never left open."""
    name = values["finding"]
    stated = name in rules.finding_stale_days or name in rules.finding_lasts or values.get("fresh_days")
    unread = part.faults.keep and not rules.finding_stale_days and not rules.finding_lasts
    if not stated and not unread and not part.spoiled("finding", "fresh_days"):
        part.fault(
            "fresh_days",
            f"is missing, needed is it here, or a line for {name!r} in finding_stale of {COMMON}",
        )


def _parts(part: Table, rules: Rules) -> tuple[Criterion, ...]:
    if part.where.count(", part ") >= DEEPEST:
        part.refuse("parts", f"is nested deeper than {DEEPEST} levels, which nobody can read")
    inner = part.tables("parts", "part")
    if len(inner) < 2 and not part.spoiled("parts"):
        part.fault("parts", f"holds {len(inner)}, needed are two or more criteria")
    return tuple(part.gather(inner, lambda table: _criterion(table, rules)))


def _range(part: Table, kind: str, rules: Rules) -> Range:
    """What a bound may be: the scale of the measure or score, or per cent where it is a share."""
    if kind == "during":
        return 0, 10
    if kind == "adherence" or part.has("of"):
        return 1, 200
    if kind == "sessions":
        return 0, 10
    key = "instrument" if kind == "score" else "measure"
    name = None if part.spoiled(key) else part.data.get(key)
    spec = rules.instruments.get(str(name)) if kind == "score" else rules.measures.get(str(name))
    # A scale that was not read refuses nothing: its own fault has been said.
    return (spec.low, spec.high) if spec else (-WIDEST, WIDEST)


def _refer(part: Table, around: Around) -> ReferRule:
    rule = take(part, keys(ReferRule)["rule"])
    if part.spoiled("rule"):
        part.give_up()
    part.where = f"{part.where} ({rule})"
    found = read(part, ReferRule, around, rule=rule)
    states = found.findings or found.lift_below or found.measure or found.past_stall
    if not states and not part.spoiled(*_CONDITIONS):
        part.fault(
            "findings", "is missing, needed is a condition: findings, lift_below, measure or past_stall"
        )
    return found
