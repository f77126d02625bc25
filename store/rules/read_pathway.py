"""Reads one pathway file: its stages, their criteria, and the rules that end in a referral."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from decimal import Decimal
from typing import Any

from armrise.store.record.fields import Choice
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import FINDINGS
from armrise.store.record.kinds.plan import Clearance
from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.rules.figure import Figure
from armrise.store.rules.pathway import (
    CRITERION_KINDS,
    PLACINGS,
    Criterion,
    Limits,
    Pathway,
    ReferRule,
    Rules,
    Stage,
)
from armrise.store.rules.table import WIDEST, Range, Table, shown

REFER_RULES = ("plateau", "image cuff", "nerve", "bony")
CLOCKS = ("surgery", "dislocation", "fracture")
HALF_RULES = ("always", "never", "from day", "not in")
MOST_DAYS = 3660
DEEPEST = 3
"""Levels of any / all inside each other."""

_STIFFNESS = ("stiffness_from", "stiffness_to", "stiffness_flexion", "stiffness_rotation")
_CONDITIONS = ("findings", "lift_below", "measure", "past_stall")
_BOUNDS = ("at_least", "at_most")
_FIELDS_OF_KIND: dict[str, tuple[str, ...]] = {
    "measure": ("measure", *_BOUNDS, "of", "observations", "apart_days", "only_if_allowed"),
    "during": ("at_most",),
    "sessions": ("good", "load_class", "sets", "reps", "above_shoulder", "at_most", "reached_once"),
    "finding": ("finding", "answer"),
    "clearance": ("by", "scope"),
    "order date": (),
    "score": ("instrument", *_BOUNDS),
    "improved": ("acceptable",),
    "no flare": ("days",),
    "no event": ("days",),
    "adherence": ("at_least",),
    "screen": (),
    "plateau": ("measure", "change", "days"),
    "any": ("parts",),
    "all": ("parts",),
}
"""The fields that count for each kind; any other is refused, because it would have no effect."""
_NEEDED = {"measure", "good", "finding", "by", "instrument", "days", "change", "parts"}
_NEEDED_BOUND = {"during": "at_most", "adherence": "at_least"}
SMALLEST_STEP = Decimal("0.01")
"""Values are recorded with two decimals at most, so "below n" is "at most n less this"."""


def _offered(kind: type[Entry], name: str) -> tuple[str, ...]:
    """The words a field of an entry may hold, so that no rule waits for an answer nobody can give."""
    rule = next(f.metadata["rule"] for f in fields(kind) if f.name == name)
    assert isinstance(rule, Choice)
    return rule.words


CLEARERS = _offered(Clearance, "by")
SCOPES = _offered(Clearance, "scope")


def pathway(table: Table, code: str, rules: Rules) -> Pathway:
    """The pathway ``code`` from its file. ``rules`` supplies the measures and instruments it may name."""
    if table.words("code", 2) != code and not table.spoiled("code"):
        table.fault("code", f"is {table.data['code']}, allowed is the name of the file, {code}")
    clock = table.maybe_choice("clock", CLOCKS, None)
    stages = _stages(table, code, clock, rules)
    codes = tuple(stage.code for stage in stages)
    regional = [key for key, spec in rules.instruments.items() if spec.region]
    if table.faults.keep and not regional:  # the instruments could not be read
        regional = list(rules.instruments)
    found = Pathway(
        code=code,
        name=table.words("name", 60),
        clock=clock,
        placing=table.maybe_choice("placing", PLACINGS, None),
        score=table.choice("score", regional),
        checkpoint=table.figure("checkpoint", "days", (1, MOST_DAYS)),
        early_look=table.maybe_figure("early_look", "days", (1, MOST_DAYS)),
        needs_orders=table.yes("needs_orders"),
        sling_until_day=table.maybe_figure("sling_until", "days"),
        stiffness_from_day=table.maybe_figure("stiffness_from", "days"),
        stiffness_to_day=table.maybe_figure("stiffness_to", "days"),
        stiffness_flexion=table.maybe_figure("stiffness_flexion", "degrees"),
        stiffness_rotation=table.maybe_figure("stiffness_rotation", "degrees"),
        best_from_day=table.maybe_figure("best_from", "days"),
        drift_against_own_best_only=table.yes("drift_against_own_best_only"),
        masked_is_unknown=table.yes("masked_is_unknown"),
        stages=stages,
        refer=tuple(
            table.gather(table.tables("refer", "refer rule"), lambda part: _refer(part, codes, clock, rules))
        ),
        cautions=table.lines("cautions"),
        **_half_rule(table, codes),
    )
    table.done()
    _check_clock(table, found)
    return found


def _half_rule(table: Table, codes: Sequence[str]) -> dict[str, Any]:
    word = table.choice("half_rule", HALF_RULES)
    day = table.maybe_figure("half_rule_from", "days")
    spared = table.choices("half_rule_not_in", codes)
    if (word == "from day") != (day is not None) and not table.spoiled("half_rule", "half_rule_from"):
        table.fault("half_rule_from", 'goes with half_rule = "from day", and only with it')
    if (word == "not in") != bool(spared) and not table.spoiled("half_rule", "half_rule_not_in"):
        table.fault("half_rule_not_in", 'goes with half_rule = "not in", and only with it')
    if day:
        word = f"from day {day.whole}"
    elif spared:
        word = f"not in {', '.join(spared)}"
    return {"half_rule": word, "half_rule_from_day": day, "half_rule_not_in": spared}


def _check_clock(table: Table, found: Pathway) -> None:
    """What counts from surgery or injury needs a clock; the stiffness check is whole or absent."""
    if found.clock and found.placing and not table.spoiled("clock", "placing"):
        table.fault("placing", "has no effect beside clock: the days since the onset say where a case begins")
    counted = {
        "needs_orders": found.needs_orders,
        "sling_until": found.sling_until_day,
        "half_rule_from": found.half_rule_from_day,
        "stiffness_from": found.stiffness_from_day,
        "best_from": found.best_from_day,
    }
    for key, stated in counted.items():
        if stated and not found.clock and not table.spoiled("clock"):
            table.fault(key, "counts from surgery or injury, and the file states no clock")
    parts = (
        found.stiffness_from_day,
        found.stiffness_to_day,
        found.stiffness_flexion,
        found.stiffness_rotation,
    )
    if any(parts) and not all(parts) and not table.spoiled(*_STIFFNESS):
        table.fault(
            "stiffness_from", "needs stiffness_to, stiffness_flexion and stiffness_rotation beside it"
        )
    _in_order(table, "stiffness_from", found.stiffness_from_day, "stiffness_to", found.stiffness_to_day)
    _in_order(table, "early_look", found.early_look, "checkpoint", found.checkpoint)


def _in_order(table: Table, small: str, low: Figure | None, large: str, high: Figure | None) -> None:
    if low and high and low.value > high.value and not table.spoiled(small, large):
        table.fault(small, f"is {low.value}, allowed is at most {large}, which is {high.value}")


def _stages(table: Table, code: str, clock: str | None, rules: Rules) -> tuple[Stage, ...]:
    stages: list[Stage] = []
    allowed: tuple[str, ...] = ()
    for part in table.tables("stage", "stage"):
        name = _stage_code(part, code, stages)
        part.where = part.where if part.spoiled("code") else f"stage {name}"
        added = part.choices("adds", LOAD_CLASSES)
        allowed = tuple(word for word in LOAD_CLASSES if word in {*allowed, *added})
        stages.append(_stage(part, name, allowed, rules))
        if not table.spoiled("clock"):
            _check_opening(part, stages, clock)
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


def _stage(part: Table, code: str, allowed: tuple[str, ...], rules: Rules) -> Stage:
    found = Stage(
        code=code,
        name=part.words("name", 40),
        purpose=part.words("purpose", 120),
        minimum=part.figure("minimum", "days"),
        usual=part.figure("usual", "days", (1, MOST_DAYS)),
        stall=part.figure("stall", "days", (1, MOST_DAYS)),
        review=part.figure("review", "days", (1, 366)),
        review_early=part.maybe_figure("review_early", "days", (1, 366)),
        review_early_days=part.maybe_figure("review_early_days", "days", (1, MOST_DAYS)),
        allowed=allowed,
        limits=_limits(part.table("limits")),
        protected=part.yes("protected"),
        opens_day=part.maybe_figure("opens", "days"),
        opens_day_large=part.maybe_figure("opens_large", "days"),
        opens_with_union=part.yes("opens_with_union"),
        combined_barred=part.yes("combined_barred"),
        combined_barred_before_day=part.maybe_figure("combined_barred_before", "days"),
        exit=_criteria(part, "exit", rules),
        step_back=_criteria(part, "step_back", rules),
        range_warnings=_range_warnings(part, rules),
        precautions=part.lines("precautions"),
    )
    part.done()
    _check_stage(part, found)
    return found


def _check_stage(part: Table, found: Stage) -> None:
    _in_order(part, "minimum", found.minimum, "usual", found.usual)
    _in_order(part, "usual", found.usual, "stall", found.stall)
    _in_order(part, "review_early", found.review_early, "review", found.review)
    one_missing = (found.review_early is None) != (found.review_early_days is None)
    if one_missing and not part.spoiled("review_early", "review_early_days"):
        part.fault("review_early", "and review_early_days go together, and only one is stated")
    if not found.exit and not part.spoiled("exit") and not part.items("exit"):
        part.fault(
            "exit", "is missing, needed is at least one criterion: without any the stage is always ready"
        )
    if not found.allowed and not part.spoiled("adds"):
        part.fault("adds", "allows no load class at all, needed is at least one")


def _check_opening(part: Table, stages: Sequence[Stage], clock: str | None) -> None:
    """Opening days need a clock, every stage of a clocked pathway states one, and they rise."""
    stage = stages[-1]
    if not clock:
        for key in ("opens", "opens_large", "opens_with_union", "combined_barred_before"):
            if part.data.get(key) and not part.spoiled(key):
                part.fault(key, "counts from surgery or injury, and the file states no clock")
        return
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
    _in_order(part, "opens", stage.opens_day, "opens_large", stage.opens_day_large)


def _limits(part: Table) -> Limits:
    found = Limits(*(part.figure(key, "points") for key in ("during", "later", "rise")))
    part.done()
    return found


def _criteria(part: Table, key: str, rules: Rules) -> tuple[Criterion, ...]:
    return tuple(part.gather(part.tables(key, f"{key} criterion"), lambda inner: _closed(inner, rules)))


def _closed(part: Table, rules: Rules) -> Criterion:
    found = _criterion(part, rules)
    part.done()
    return found


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
    found = _criterion(inner, rules)
    inner.done()
    return found, warning


def _criterion(part: Table, rules: Rules) -> Criterion:
    kind = part.choice("kind", CRITERION_KINDS)
    text = part.words("text", 120)
    source, status = part.source()
    if part.spoiled("kind"):
        part.give_up()  # nobody can say which of its fields count
    counts = _FIELDS_OF_KIND.get(kind, ())
    values = {key: _field(part, key, kind, rules) for key in counts if part.has(key) or key in _NEEDED}
    _check_bounds(part, kind, values)
    return Criterion(kind=kind, text=text, source=source, status=status, **values)


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


def _field(part: Table, key: str, kind: str, rules: Rules) -> Any:
    """One field of a criterion, checked against what can be recorded for it."""
    match key:
        case "measure":
            return part.choice(key, rules.measures)
        case "of":
            return part.choice(key, ("other side", *rules.measures))
        case "finding":
            return part.choice(key, FINDINGS)
        case "answer":
            return part.choice(key, ("yes", "no"))
        case "by":
            return part.choice(key, CLEARERS)
        case "scope":
            return part.choice(key, SCOPES)
        case "instrument":
            return part.choice(key, rules.instruments)
        case "load_class":
            return part.choices(key, LOAD_CLASSES)
        case "parts":
            return _parts(part, rules)
        case "only_if_allowed" | "above_shoulder" | "reached_once" | "acceptable":
            return part.yes(key)
        case "at_least" | "at_most":
            return part.number(key, _range(part, kind, rules), whole=False)
        case "change":
            return part.number(key, (1, 180))
        case _:
            return int(part.number(key, _COUNTS[key]))


_COUNTS: dict[str, Range] = {
    "observations": (1, 10),
    "apart_days": (0, 366),
    "good": (1, 20),
    "sets": (1, 20),
    "reps": (1, 200),
    "days": (1, MOST_DAYS),
}


def _parts(part: Table, rules: Rules) -> tuple[Criterion, ...]:
    if part.where.count(", part ") >= DEEPEST:
        part.refuse("parts", f"is nested deeper than {DEEPEST} levels, which nobody can read")
    inner = part.tables("parts", "part")
    if len(inner) < 2 and not part.spoiled("parts"):
        part.fault("parts", f"holds {len(inner)}, needed are two or more criteria")
    return tuple(part.gather(inner, lambda table: _closed(table, rules)))


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


def _refer(part: Table, codes: Sequence[str], clock: str | None, rules: Rules) -> ReferRule:
    rule = part.choice("rule", REFER_RULES)
    if part.spoiled("rule"):
        part.give_up()
    part.where = f"{part.where} ({rule})"
    source, status = part.source()
    found = ReferRule(
        rule=rule,
        text=part.words("text", 160),
        source=source,
        status=status,
        stages=part.choices("stages", codes),
        from_day=part.count("from_day", 0, MOST_DAYS),
        age_from=part.count("age_from", 1, 120),
        findings=_answers(part),
        lift_below=part.count("lift_below", 1, 180),
        measure=part.maybe_choice("measure", rules.measures, None),
        change_below=part.count("change_below", 1, 180),
        over_days=part.count("over_days", 1, MOST_DAYS),
        same_rater=part.yes("same_rater"),
        past_stall=part.yes("past_stall"),
    )
    part.done()
    if found.from_day is not None and not clock and not part.spoiled("from_day"):
        part.fault("from_day", "counts from surgery or injury, and the file states no clock")
    stated = {found.measure is None, found.change_below is None, found.over_days is None}
    if len(stated) == 2 and not part.spoiled("measure", "change_below", "over_days"):
        part.fault("measure", "needs change_below and over_days beside it, and they need it")
    states = found.findings or found.lift_below or found.measure or found.past_stall
    if not states and not part.spoiled(*_CONDITIONS):
        part.fault(
            "findings", "is missing, needed is a condition: findings, lift_below, measure or past_stall"
        )
    return found


def _answers(part: Table) -> tuple[tuple[str, str], ...]:
    if not part.has("findings"):
        return ()
    inner = part.table("findings")
    named = tuple((name, inner.choice(name, ("yes", "no"))) for name in FINDINGS if inner.has(name))
    inner.done()
    return named
