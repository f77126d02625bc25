"""The score that a dose proposal waits for, with the day it belongs to."""

from __future__ import annotations

from armrise.store.clinic.case.view import DAY
from armrise.store.clinic.pain.classes import INCOMPLETE
from armrise.store.clinic.pain.response import Judged
from armrise.store.clinic.programme.facts import UNTOLD, ItemFacts
from armrise.store.record.words import words_date


def missing_score(facts: ItemFacts) -> str:
    """The one thing to ask for, with the day's name: "next-morning score for Fri 27 Feb missing"."""
    newest = facts.case.newest
    if newest is not None and newest.klass == INCOMPLETE:
        return _of_session(facts, newest)
    untold = next((told for told in facts.at_dose if told.full == UNTOLD), None)
    return f"sets, repetitions or load done on {words_date(untold.on)} missing" if untold else ""


def _of_session(facts: ItemFacts, judged: Judged) -> str:
    """The score a session lacks; the baseline only when everything that was asked for has been told."""
    response, rules = facts.case.response, facts.rules
    asked = [word for word in judged.missing if word != "baseline"]
    if not asked:
        least = rules["baseline.least"]
        have = response.mornings_found(min(judged.on + DAY, facts.today))
        return f"baseline needs {least} mornings ({have} so far)"
    if asked == ["next-morning score"] and judged.on >= facts.today:
        return f"next-morning score for {words_date(judged.on)} comes tomorrow"
    return f"{asked[0]} for {words_date(judged.on)} missing"
