"""Numbers from memory: said wherever one decides something about a case, so that nobody trusts it more.

Whether a number is from memory stands beside it in the rule files. What a criterion or a rule rests on is
read here by name: the figures of a reason, the thresholds of a score, the urgency of a red-flag answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache

from armrise.store.clinic.case.standing import CriterionResult, Reason, Truth, Verdict, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.triggers import to_act
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.standing.conditions import REASONS
from armrise.store.clinic.verdict.refer import refer_rule
from armrise.store.clinic.verdict.screening import open_flags, severity_mark, severity_of
from armrise.store.record.words import plain
from armrise.store.rules.figure import MEMORY, Figure
from armrise.store.rules.figures import FIGURES
from armrise.store.rules.measure import InstrumentSpec


def memory_caution(view: View, reasons: Iterable[Reason], decided: Verdict) -> tuple[str, ...]:
    """One caution naming every number from memory on which a reason or the verdict rests; none without."""
    found = [*_of_verdict(view, decided)]
    for reason in reasons:
        found += _of_reason(view, reason)
    named = tuple(dict.fromkeys(found))
    figure = "a figure" if len(named) == 1 else "figures"
    return (f"uses {figure} from memory, not yet checked: {'; '.join(named)}",) if named else ()


def _said(name: str, figure: Figure | None) -> Iterator[str]:
    if figure is not None and figure.status == MEMORY:
        yield f"{name} {plain(figure.value)}"


# --- the verdict --------------------------------------------------------------------------------------------


def _of_verdict(view: View, decided: Verdict) -> Iterator[str]:
    if decided.word is Word.REFER:
        yield from _of_referral(view, decided)
    if decided.word is Word.STEP_BACK and view.stage:
        yield from (c.text for c in view.stage.step_back if c.status == MEMORY)
    deciding = {
        Word.READY: (Truth.MET,),
        Word.NOT_YET: (Truth.NOT_MET, Truth.UNKNOWN),
        Word.UNKNOWN: (Truth.UNKNOWN,),
    }.get(decided.word, ())
    for result in (*decided.blocks, *decided.criteria):
        if result.state in deciding:
            yield from _of_result(result)


def _of_referral(view: View, decided: Verdict) -> Iterator[str]:
    """The finding that refers, else the refer rule of the pathway, where it is from memory."""
    acting = next((found for found in to_act(view) if found.trigger.refer), None)
    rule = refer_rule(view)
    if acting and acting.trigger.refer == decided.rule:
        yield from [acting.sentence] if acting.trigger.status == MEMORY else []
    elif rule and rule.rule == decided.rule and rule.status == MEMORY:
        yield rule.text


def _of_result(result: CriterionResult) -> Iterator[str]:
    if result.status == MEMORY:
        yield result.text
    for part in result.parts:
        yield from _of_result(part)


# --- the reasons ------------------------------------------------------------------------------------------


def _of_reason(view: View, reason: Reason) -> Iterator[str]:
    rule = REASONS[reason.code]
    for group in rule.figures:
        yield from _group(view, group)
    for name in rule.stage_figures if view.stage else ():
        yield from _stage_figure(view, name)
    if reason.code == "RED":
        yield from _urgency(view)
    if reason.code == "FND":
        yield from (found.sentence for found in to_act(view) if found.trigger.status == MEMORY)
    if reason.code == "WRS":
        for spec in outcome.judged_instruments(view):
            yield from _thresholds(view, spec, worse=reason.severity == 2)
    if reason.code in ("WRS", "PRM") and view.pathway:
        yield from _said("days to the checkpoint", view.pathway.checkpoint)


def _group(view: View, group: str) -> Iterator[str]:
    for key in _keys_of(group):
        yield from _said(f"{FIGURES[key].words}:", view.rules.figures.get(key))


@cache
def _keys_of(group: str) -> tuple[str, ...]:
    return tuple(key for key in FIGURES if key.startswith(f"{group}."))


def _stage_figure(view: View, name: str) -> Iterator[str]:
    stage = view.stage
    if stage is None:
        return
    if name == "limits":
        for limit in ("during", "later", "rise"):
            yield from _said(f"pain limit {limit}", getattr(stage.limits, limit))
        return
    yield from _said(f"{name} days of {stage.code}", getattr(stage, name))
    if name == "review":
        yield from _said(f"early review days of {stage.code}", stage.review_early)


def _urgency(view: View) -> Iterator[str]:
    """The urgency of an answer for which the clinician gave none, where it decides how urgent the case is."""
    flags = open_flags(view)
    if not severity_mark(view, flags):
        return
    worst = max((severity_of(view, flag) for flag in flags), default=0)
    for flag in flags:
        if flag.severity is None and severity_of(view, flag) == worst:
            yield from _said(f"urgency of {flag.item}:", view.rules.screen_severity.get(flag.item))


def _thresholds(view: View, spec: InstrumentSpec, *, worse: bool) -> Iterator[str]:
    """What a score is judged by, where it has two totals to compare."""
    if outcome.change(view, spec.key) is None:
        return
    if worse:
        yield from _said(f"{spec.key} worse beyond error by", spec.detectable)
        return
    side = "or less" if spec.lower_is_better else "or more"
    yield from _said(f"{spec.key} response by", spec.response)
    yield from (f"{said} {side}" for said in _said(f"{spec.key} acceptable from", spec.acceptable))
