"""Every kind of entry as a phrase: what was recorded, without its date, in whole words."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from armrise.store.clinic.healing.healing import CLASS_WORDS
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Contact, SweepDecision, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure, Score, Target
from armrise.store.record.kinds.pain import Irritability, Medicine, Session
from armrise.store.record.kinds.paperwork import Background, Discharge, Referral
from armrise.store.record.kinds.plan import Clearance, Hold, Orders, Override, Step
from armrise.store.record.kinds.programme import DoneItem, HomeLoads, ProgrammeItem
from armrise.store.record.kinds.safety import Onset, Screen
from armrise.store.record.words import full_date, plain, words_date

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules


def phrase(entry: Entry, rules: Rules | None = None) -> str:
    """``entry`` in words. With ``rules`` measures carry their label and unit, scores their direction."""
    match entry:
        case Measure():
            return _measure(entry, rules)
        case Score():
            return _score(entry, rules)
        case Target():
            label, unit = _label(entry.measure, rules)
            return _joined(f"target, {label}: {plain(entry.value)}{unit}", entry.reason)
        case _:
            return _PHRASES[entry.KIND](entry)


def value_words(value: object) -> str:
    """A number, or the word for why there is none; nothing at all is "not recorded"."""
    if isinstance(value, Absence):
        return value.value
    if value is None:
        return "not recorded"
    return plain(value) if isinstance(value, Decimal) else str(value)


def listed(words: Iterable[str]) -> str:
    """The words that say something, with commas."""
    return ", ".join(word for word in words if word)


def _joined(said: str, *more: str | None) -> str:
    return "; ".join([said, *(words for words in more if words)])


def _flags(entry: Any, *names: str) -> list[str]:
    """The names of the yes-or-no fields that hold yes, as words."""
    return [name.replace("_", " ") for name in names if getattr(entry, name)]


def _label(measure: str, rules: Rules | None) -> tuple[str, str]:
    """A measure's words and unit; without rules its plain name."""
    spec = rules.measures.get(measure) if rules else None
    return (spec.label, f" {spec.unit}") if spec else (measure.replace("_", " "), "")


def _measure(entry: Measure, rules: Rules | None) -> str:
    label, unit = _label(entry.name, rules)
    unit = f" {entry.unit}" if entry.unit else unit
    number = value_words(entry.value) + ("" if isinstance(entry.value, Absence) else unit)
    side = f" {entry.side}" if entry.side else ""
    how = listed(
        (
            entry.method or "",
            entry.position or "",
            f"limited by {entry.limited_by}" if entry.limited_by else "",
            f"measured by {entry.rater}" if entry.rater and entry.rater != entry.author else "",
            "repeated, not measured" if entry.repeated else "",
            "confirmed as measured" if entry.confirmed else "",
        )
    )
    return _joined(f"{label}{side}: {number}", how)


def _score(entry: Score, rules: Rules | None) -> str:
    if entry.total is None:
        said = f"{entry.instrument}: incomplete, no total"
    else:
        said = f"{entry.instrument}: {value_words(entry.total)}"
        spec = rules.instruments.get(entry.instrument) if rules else None
        if spec and isinstance(entry.total, Decimal) and entry.formula != "old 12-60":
            better = "lower" if spec.lower_is_better else "higher"
            said += f" (of {spec.low:f} to {spec.high:f}, {better} is better)"
        elif entry.formula == "old 12-60":
            said += " (of 12 to 60, lower is better)"
    answered = sum(item is not None for item in entry.items)
    more = [f"{answered} of {len(entry.items)} items answered" if entry.items else ""]
    more += [entry.formula or "", entry.version or "", entry.language or ""]
    more += [f"filled in by {entry.filled_by}" if entry.filled_by else ""]
    return _joined(said, listed(more))


def _visit(entry: Visit) -> str:
    said = "visit" if entry.mode == "in person" else "visit by video"
    if entry.interval is not None:
        said += f", next review in {entry.interval} days"
    new = {"yes": "something new reported", "no": "nothing new"}.get(entry.anything_new, "")
    more = _flags(entry, "injury_assessed", "decision", "load_cut", "plan_corrected")
    about = f"answers {entry.answers}" if entry.answers else ""
    usual = f"usual morning pain {entry.usual_morning}" if entry.usual_morning is not None else ""
    return _joined(listed([said, new, *more, about, usual]), entry.note)


def triple(entry: Session) -> str:
    """The three scores of a session in words."""
    scores = (value_words(v) for v in (entry.during, entry.later, entry.morning))
    return "during / later / next morning " + " / ".join(scores)


def item_words(item: DoneItem) -> str:
    """One exercise of a session: what was done of what was asked, and with what."""
    sets = value_words(item.sets) + (f" of {item.sets_asked}" if item.sets_asked is not None else "")
    reps = [f"{value_words(item.reps)} repetitions" if item.reps is not None else ""]
    if item.reps_asked is not None:
        reps = [f"{value_words(item.reps)} of {item.reps_asked} repetitions"]
    more = _flags(item, "above_shoulder")
    more += ["abduction with external rotation"] if item.combined else []
    return f"{item.exercise} ({CLASS_WORDS[item.load_class]}): " + listed(
        [f"sets {sets}", *reps, *_resistance(item), *more]
    )


def _resistance(item: DoneItem | ProgrammeItem) -> list[str]:
    load = [f"{plain(item.load)} kg"] if item.load is not None else []
    return load + ([f"band grade {item.band}"] if item.band is not None else [])


def _session(entry: Session) -> str:
    second = "second session of the day" if entry.ordinal == 2 else "session"
    done = listed(item.exercise for item in entry.items)
    sling = "sling off" if entry.sling_off else ""
    return _joined(f"{second}, {triple(entry)}", listed((done, sling)), entry.note)


def _screen(entry: Screen) -> str:
    if entry.item == "all":
        said = "red-flag screen: every item asked" if entry.answer == "no" else "red-flag screen, all items"
        return _joined(f"{said}, {entry.answer}", entry.note)
    severity = {3: "same day", 2: "urgent", 1: "soon or query"}.get(entry.severity or 0, "")
    return _joined(f'red-flag screen, "{entry.item}": {entry.answer}', severity, entry.note)


def _contact(entry: Contact) -> str:
    return _joined(
        listed([f"contact: {entry.outcome}", *_flags(entry, "load_cut", "plan_corrected", "surgeon_told")]),
        entry.note,
    )


def _programme(entry: ProgrammeItem) -> str:
    reps = f"{entry.reps}"
    if entry.reps_low is not None or entry.reps_high is not None:
        reps += f" (range {value_words(entry.reps_low)} to {value_words(entry.reps_high)})"
    dose = [f"{entry.sets} x {reps} repetitions", *_resistance(entry)]
    dose += [f"hold {entry.hold} s" if entry.hold is not None else "", entry.tempo or ""]
    dose += [f"rest {entry.rest} s" if entry.rest is not None else ""]
    dose += [f"{entry.per_week} sessions a week" if entry.per_week is not None else ""]
    dose += [f"effort {entry.effort} of 10" if entry.effort is not None else ""]
    dose += [f"{entry.sides} side{'s' if entry.sides == 'both' else ''}" if entry.sides else ""]
    dose += _flags(entry, "above_shoulder")
    dose += ["abduction with external rotation"] if entry.combined else []
    dose += ["patient may raise repetitions"] if entry.self_progress else []
    stopped = f"STOPPED: {entry.stopped}" if entry.stopped else ""
    return _joined(f"programme, {entry.exercise} ({CLASS_WORDS[entry.load_class]}): {listed(dose)}", stopped)


def _step(entry: Step) -> str:
    how = "placed in" if entry.direction == "placing" else f"stepped {entry.direction} to"
    verdict = f"the verdict was {entry.verdict}" if entry.verdict else ""
    rules = f"rules {entry.rules}" if entry.rules else ""
    override = listed((entry.override_category or "", entry.override_reason or ""))
    return _joined(f"{how} {entry.stage}", listed((verdict, rules)), override and f"override: {override}")


def _override(entry: Override) -> str:
    rules = f"rules {entry.rules}" if entry.rules else ""
    how = "override" if entry.against.startswith(NOT_ALLOWED) else "stays, against"
    return _joined(f"{how} {entry.against}: {entry.category}, {entry.reason}", rules)


NOT_ALLOWED = "not allowed:"
"""How an override begins that puts an exercise into the programme; the others keep a case where it is."""


def _hold(entry: Hold) -> str:
    if entry.until <= entry.on:
        return _joined(f"hold ended ({entry.reason})", entry.note)
    agreed = f"agreed with {entry.named}" if entry.named else ""
    return _joined(f"on hold until {full_date(entry.until)}: {entry.reason}", agreed, entry.note)


def _orders(entry: Orders) -> str:
    def until(words: str, on: Any) -> str:
        return f"{words} {full_date(on)}" if on else ""

    limits = [
        f"{entry.tear_size} tear" if entry.tear_size else "",
        "poor tissue" if entry.poor_tissue else "",
        entry.tendons or "",
        until("sling until", entry.sling_until),
        _limit("external rotation to", entry.external_rotation_limit, "degrees"),
        _limit("elevation to", entry.elevation_limit, "degrees"),
        until("no active work until", entry.no_active_until),
        until("no resisted work until", entry.no_resisted_until),
        _limit("lifting to", entry.lifting_limit, "kg"),
        *(until(f"stage {n} from", entry.stage_from(n)) for n in range(2, 6)),
    ]
    who = f"surgeon's orders{f' of {entry.surgeon}' if entry.surgeon else ''}"
    return _joined(listed([who, entry.operation or ""]), listed(limits), entry.text)


def _limit(words: str, value: int | Decimal | None, unit: str) -> str:
    return "" if value is None else f"{words} {value_words(value)} {unit}"


def _clearance(entry: Clearance) -> str:
    by = {"surgeon": "the surgeon", "union": "evidence of union", "stability": "evidence of stability"}[
        entry.by
    ]
    what = "resisted work" if entry.scope == "resisted" else "movement"
    return f"clearance of {what} by {by}: {entry.answer}"


def _referral(entry: Referral) -> str:
    told = ", surgeon told" if entry.surgeon_told else ""
    return _joined(f"referred to {entry.to}, {entry.urgency}, about {entry.about}{told}", entry.note)


def _discharge(entry: Discharge) -> str:
    owed = "letter owed" if entry.letter else "no letter owed"
    return _joined(f"discharged: {entry.outcome}; final measures {entry.measures}, {owed}", entry.note)


def _onset(entry: Onset) -> str:
    low = "low energy" if entry.low_energy else ""
    return listed([f"onset: {entry.what}", entry.operation or "", low])


def _irritability(entry: Irritability) -> str:
    rows = [
        f"{name.replace('_', ' ')} {getattr(entry, name)}"
        for name in IRRITABILITY_ROWS
        if getattr(entry, name)
    ]
    differs = entry.proposed and entry.proposed != entry.level
    proposed = f"{entry.proposed} was proposed" if differs else ""
    return _joined(
        f"irritability: {entry.level}", proposed, "rows disagree" if entry.mixed else "", listed(rows)
    )


IRRITABILITY_ROWS = ("intensity", "rest_and_night", "end_range", "settling")


def _background(entry: Background) -> str:
    parts = [
        f"needed for {entry.demand}" if entry.demand else "",
        f"sleep {entry.sleep}" if entry.sleep else "",
    ]
    parts.append(f"goal: {entry.goal}" if entry.goal else "")
    return "background: " + ("; ".join(p for p in parts if p) or "nothing stated")


def _home_loads(entry: HomeLoads) -> str:
    weights = ", ".join(value_words(w) for w in entry.weights)
    bands = ", ".join(value_words(b) for b in entry.bands)
    said = (f"{weights} kg" if weights else "no weights", f"bands {bands}" if bands else "no bands")
    return f"loads at home: {'; '.join(said)}"


def _sweep(entry: SweepDecision) -> str:
    over = f" ({entry.overdue_days} days overdue)" if entry.overdue_days else ""
    return _joined(
        f"weekly sweep: {entry.decision}, until {full_date(entry.until)}",
        f"{entry.reasons}{over}",
        entry.note,
    )


def _medicine(entry: Medicine) -> str:
    return (
        f"{entry.what}, {entry.change}: pain may be masked"
        if entry.change != "stopped"
        else f"{entry.what} stopped"
    )


_PHRASES: dict[str, Callable[[Any], str]] = {
    "visit": _visit,
    "session": _session,
    "morning": lambda e: f"morning pain {value_words(e.pain)}",
    "screen": _screen,
    "flag outcome": lambda e: f'outcome of the red flag "{e.item}": {e.outcome}; {e.reason}',
    "event": lambda e: _joined(
        f"new event: {e.event}", "abduction with external rotation" if e.combined else "", e.note
    ),
    "contact": _contact,
    "appointment": lambda e: _joined(f"booked for {full_date(e.booked_for)}", e.reason),
    "attendance": lambda e: f"slot of {full_date(e.booked_for)}: {e.outcome}",
    "programme item": _programme,
    "step": _step,
    "override": _override,
    "hold": _hold,
    "in hand": lambda e: f'"{e.reason}" in hand until {full_date(e.until)}: {e.action}',
    "orders": _orders,
    "clearance": _clearance,
    "referral": _referral,
    "decision": lambda e: f"decision about {e.about}: {e.note}",
    "letter": lambda e: f"letter about {e.about}: {e.state}",
    "discharge": _discharge,
    "reopening": lambda e: _joined(
        "reopened as a new episode" if e.new_mechanism else "reopened, same episode", e.reason
    ),
    "onset": _onset,
    "finding": lambda e: _joined(f"finding, {e.name}: {e.answer}", e.note),
    "medicine": _medicine,
    "irritability": _irritability,
    "background": _background,
    "home loads": _home_loads,
    "sweep decision": _sweep,
    "referral answer": lambda e: f"answer to the referral about {e.about}: {e.answer}",
    "correction": lambda e: f"correction: {e.reason}",
}


def dated(entry: Entry, rules: Rules | None = None) -> str:
    """The phrase with its day, for a sentence about another entry."""
    return f"{phrase(entry, rules)}, {words_date(entry.on)}"
