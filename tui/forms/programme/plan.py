"""What the programme screens write, worked out from an item and a proposal; no screen in here."""

from __future__ import annotations

import re
from dataclasses import fields
from datetime import date
from decimal import Decimal

from armrise.store.clinic.programme.parts import Dose, amount_word, load_change
from armrise.store.clinic.programme.proposal import (
    CHANGE,
    CLIMB,
    HOLD,
    LOAD,
    REASSESS,
    STOP,
    WAIT,
    Proposal,
)
from armrise.store.entries.values import RefusalError, number_of
from armrise.store.record.fields import Number, Rule, Series, Whole, rule_of
from armrise.store.record.kinds.programme import ISOMETRIC, HomeLoads, ProgrammeItem, stated
from armrise.store.record.words import plain
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.words.entries import day

KIND = ProgrammeItem.KIND
RULES: dict[str, Rule] = {f.name: f.metadata["rule"] for f in fields(ProgrammeItem) if "rule" in f.metadata}
SPREAD = re.compile(r"(\d{1,3})\s*(?:-|to)\s*(\d{1,3})")


def _ends(rule: Rule) -> str:
    """ "1 to 6"."""
    assert isinstance(rule, Whole | Number | Series)
    return f"{rule.low} to {rule.high}"


BANDS = f"grade {_ends(rule_of(HomeLoads, 'bands'))}"
NUMBERS = {
    "sets": "sets",
    "reps": "repetitions",
    "sets_high": "sets may rise to",
    "load": "load, kg",
    "band": f"band, grade {_ends(RULES['band'])}",
    "per_week": "times a week",
    "hold": "hold, s",
    "effort": f"effort, {_ends(RULES['effort'])}",
    "rest": "rest between sets, s",
}
BESIDE = {
    "sets_high": "left out: as the catalogue says",
    "load": "weight or band, not both",
    "per_week": "7 every day; 3d is 3 times a day",
    "spread": "lowest-highest, as 8-12",
}
LEFT_OUT = "may be left out"
"""What stands beside a field that need not be typed."""


def accepted(found: Proposal) -> list[Draft]:
    """The new versions that accepting a proposal writes."""
    return [(KIND, stated(version)) for version in found.versions]


def accept_words(found: Proposal, today: date, author: str) -> str:
    """What accepting it changes, in short."""
    by = f"from {day(today)}, by {author}"
    if found.stops and found.instead is None:
        return f"{found.item.exercise}: out of the programme {by}; reason: {found.reason}"
    return f"{change_words(found)} {by}"


def change_words(found: Proposal) -> str:
    """ "scaption raise: 3 x 8 at 1.5 kg instead of 3 x 8 at 2 kg", "wall walk, 2 x 10 instead of ..."."""
    item = found.item
    if found.instead is not None:
        return f"{found.dose_words} instead of {item.exercise}"
    cut = found.dose is not None and item.arc_to is not None and found.dose.arc_to != item.arc_to
    arc = f", arc to {item.arc_to} degrees" if cut else ""
    return f"{item.exercise}: {found.dose_words} instead of {Dose.of(item).words(item)}{arc}"


def writes_nothing(found: Proposal) -> str:
    """Why accepting this proposal writes nothing, and what may be done instead."""
    keeps = Dose.of(found.item).words(found.item)
    return {
        HOLD: f"HOLD keeps {keeps}: nothing to write.",
        WAIT: f"WAIT keeps {keeps} until the score is there: nothing to write.",
        REASSESS: "REASSESS: look at the shoulder before any dose. Nothing to write; e sets one.",
        LOAD: "The next load is not known: w records the weights at home. Nothing to write.",
        CLIMB: f"{found.reason}: w records what is at home. Nothing to write.",
        CHANGE: "CHANGE EXERCISE is yours to choose: n adds one, X stops this one. Nothing to write.",
        STOP: f"It rests: {found.reason}. Nothing to write; X takes it out for good.",
    }.get(found.word, f"{found.word} keeps {keeps}: nothing to write.")


# --- what is typed --------------------------------------------------------------------------------------


def number(name: str, label: str, text: str, faults: dict[str, str]) -> int | Decimal | None:
    """A number typed for field ``name`` of an item, None when left empty; a fault is put beside its name."""
    rule = RULES[name]
    assert isinstance(rule, (Whole, Number))
    if not text:
        return None
    if name == "per_week" and (daily := re.fullmatch(r"(\d{1,2}) ?d", text)):
        text = str(int(daily[1]) * 7)
    try:
        typed = Decimal(text.replace(",", ".")) if re.fullmatch(r"\d{1,9}(?:[.,]\d{1,9})?", text) else text
        found = number_of(rule, typed)
    except RefusalError as refusal:
        faults[name] = f"{label}: {refusal}."
        return None
    assert isinstance(found, (int, Decimal))
    return found


def spread(text: str, faults: dict[str, str]) -> tuple[int | None, int | None]:
    """The range of repetitions typed as "8-12"; empty is none."""
    if not text:
        return None, None
    match = SPREAD.fullmatch(text)
    low, high = (int(match[1]), int(match[2])) if match else (0, 0)
    rule = RULES["reps_low"]
    assert isinstance(rule, Whole)
    if not rule.low <= low <= high <= rule.high:
        allowed = f"from {rule.low} to {rule.high}, as 8-12"
        faults["spread"] = f'range: "{text}" is no range; say lowest-highest {allowed}.'
        return None, None
    return low, high


def home_numbers(text: str, name: str, faults: dict[str, str]) -> tuple[Decimal, ...]:
    """Weights or band grades typed as "1, 1.5, 2" or "1 1.5 2", each once, the lightest first."""
    series: Series = rule_of(HomeLoads, name)
    rule = Number(series.low, series.high, series.places, series.unit or "grades")
    found: set[Decimal] = set()
    for word in re.split(r"[,;\s]+", text.lower().replace("kg", " ")):
        if not word:
            continue
        try:
            typed = number_of(rule, Decimal(word) if re.fullmatch(r"\d{1,9}(?:\.\d{1,9})?", word) else word)
        except RefusalError as refusal:
            faults[name] = f"{name}: {refusal}."
            return ()
        assert isinstance(typed, Decimal)
        found.add(typed)
    return tuple(sorted(found))


def home_words(told: HomeLoads | None) -> str:
    """What is at home, and when it was told."""
    if told is None:
        return "at home: weights not recorded (w records them)"
    kilograms = ", ".join(plain(w) for w in told.weights if w is not None)
    bands = ", ".join(plain(b) for b in told.bands if b is not None)
    said = [f"{kilograms} kg" if kilograms else "no weights", f"bands {bands}" if bands else "no bands"]
    return f"at home: {'; '.join(said)} ({told.author}, {day(told.on, year=False)})".replace("(, ", "(")


def two_raised(before: ProgrammeItem, after: ProgrammeItem) -> str:
    """A caution when a typed dose raises two things at once; it stops nothing."""
    raised = [
        word
        for word, more in (
            ("sets", after.sets > before.sets),
            (amount_word(after), after.reps > before.reps or (after.hold or 0) > (before.hold or 0) > 0),
            ("load", load_change(before, after) > 0),
        )
        if more
    ]
    return f"two things raised at once: {' and '.join(raised)}" if len(raised) > 1 else ""


def count_label(load_class: str) -> str:
    """What the second number of a dose is called."""
    return "seconds held" if load_class in ISOMETRIC else "repetitions"
