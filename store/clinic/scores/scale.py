"""The scale a total is on: which way is better, the present form of an old total, and what may be compared.

A change may only be read from two totals of one form, version and language by one formula (practice note
4.13, case 35). Old Oxford totals run the other way round and are read on the present scale.
"""

from __future__ import annotations

from decimal import Decimal

from armrise.store.record.kinds.measured import Score
from armrise.store.rules.measure import InstrumentSpec
from armrise.store.rules.questionnaire import OLD_OXFORD

NOT_STATED = "not stated"
RATING = "NRS"
"""Of which one rating, or the mean of three, is a total."""


def direction(spec: InstrumentSpec, formula: str | None = None) -> str:
    """The direction of a total in words; the old Oxford total runs the other way round."""
    lower = spec.lower_is_better != (formula == OLD_OXFORD)
    return "lower is better" if lower else "higher is better"


def on_scale(spec: InstrumentSpec, score: Score) -> Decimal | None:
    """The total on the scale of the rule file (an old Oxford total as 60 - total); None without a total."""
    if not isinstance(score.total, Decimal):
        return None
    if score.formula == OLD_OXFORD and spec.form is not None:
        return spec.form.old_and_new - score.total
    return score.total


def formula_of(spec: InstrumentSpec, score: Score) -> str | None:
    """The formula a record means: the one it names, else the usual one of its form."""
    return spec.form.formula(score.formula) if spec.form else score.formula


def differing(spec: InstrumentSpec, one: Score, two: Score) -> tuple[str, ...]:
    """Why the two scores may not be compared, in words; empty when they may."""
    pairs = (
        ("formula", formula_of(spec, one), formula_of(spec, two)),
        ("version", one.version, two.version),
        ("language", one.language, two.language),
        ("number of items", *_lengths(spec, one, two)),
    )
    unlike = ((name, one, two) for name, one, two in pairs if one != two)
    return tuple(f"{name}: {one or NOT_STATED}, then {two or NOT_STATED}" for name, one, two in unlike)


def _lengths(spec: InstrumentSpec, one: Score, two: Score) -> tuple[str, str]:
    """One rating of pain is not the mean of three. Only known where both hold their answers."""
    if spec.key != RATING or not one.items or not two.items:
        return "", ""
    return str(len(one.items)), str(len(two.items))
