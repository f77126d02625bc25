"""The words that rule files carry themselves: of the red-flag screen, of stages, and the names of exercises.

The rule files are the home of the English; a file of words says them in its own language by their names.
"""

from __future__ import annotations

from collections.abc import Mapping

from armrise.store.record.kinds.safety import RETIRED_SCREEN_ITEMS
from armrise.store.rules.pathway import Rules, Stage
from armrise.store.rules.table import one_of, shown
from armrise.store.rules.words.patient import PatientWords, WordsError


def speaking(rules: Rules, words: PatientWords, name: str) -> Rules:
    """The same rules with these words; ``name`` is what a refusal calls their file.

    Raises :class:`WordsError` where they name what the rules have not, or where another language than English
    lacks what the rules say in English: a patient is told nothing half.
    """
    held: dict[str, Mapping[str, object]] = {
        "red_flags": words.red_flags,
        "stages": words.stages,
        "exercises": words.exercises,
    }
    for section, needed in said_by_rules(rules).items():
        given = held[section]
        for key in given:
            if key not in needed:
                allowed = one_of(tuple(needed), key) if needed else "nothing"
                raise WordsError(f"{name}: {section}, {shown(key)}: is not known, allowed is {allowed}.")
        missing = next((key for key in needed if key not in given), None)
        if missing and section != "exercises" and not words.is_english:
            says = " ".join(needed[missing])
            raise WordsError(f"{name}: {section}, {shown(missing)}: is missing, needed is {says!r}.")
    for item, lines in words.red_flags.items():
        if len(lines) != (count := len(_told(rules, item))):
            say = f"holds {len(lines)} text{'s' * (len(lines) > 1)}, needed as in the English: {count}"
            raise WordsError(f"{name}: red_flags, {shown(item)}: {say}.")
    return rules.said_in(words)


def flag_lines(rules: Rules, item: str) -> tuple[str, ...]:
    """What a patient is told of an open item: its lead and words, then its further leads."""
    return rules.words.red_flag(item) or _told(rules, item)


def stage_words(rules: Rules, stage: Stage) -> str | None:
    """What is said of a stage in place of what is said of pain; None where there is nothing of its own."""
    return rules.words.stage(stage.code) or stage.patient_words


def said_by_rules(rules: Rules) -> dict[str, dict[str, tuple[str, ...]]]:
    """By section and name what the rules say in English."""
    stages = (stage for pathway in rules.pathways.values() for stage in pathway.stages)
    return {
        "red_flags": {
            item: _told(rules, item) for item in rules.screen_items if item not in RETIRED_SCREEN_ITEMS
        },
        "stages": {stage.code: (stage.patient_words,) for stage in stages if stage.patient_words},
        "exercises": {exercise.name: (exercise.name,) for exercise in rules.exercises},
    }


# --- a lead and its words ---------------------------------------------------------------------------------


def _told(rules: Rules, name: str) -> tuple[str, ...]:
    item = rules.screen_items[name]
    leads = {lead.name: lead.words for lead in rules.leads}
    first = (_said(leads[item.lead], item.words or ""),) if item.lead else ()
    return (*first, *(_said(leads[further.lead], further.words) for further in item.also))


def _said(lead: str, words: str) -> str:
    """The lead, then words of their own; or words that go on from it: "Go to hospital today if ..."."""
    if not words or not words[0].islower():
        return f"{lead} {words}".rstrip()
    stem = lead.removesuffix(".")
    first, _, rest = words.partition(" ")
    goes_on = rest if stem.endswith(f" {first}") else words
    return f"{stem} {goes_on}."
