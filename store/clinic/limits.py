"""Healing: when each stage may open, what is allowed on a date, and what broke a limit.

The surgeon's orders prevail. The limit of a date is the more restrictive of the orders and the pathway's
template, except where the newest order naming a stage gives it a date of its own. Feeling good opens nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from store.clinic.fields import Absence
from store.clinic.motion import degrees
from store.clinic.pathway import Pathway, Stage
from store.clinic.record import DoneItem, Orders, ProgrammeItem, Session
from store.clinic.response import words_date
from store.clinic.view import DAY, View, newest

ISOMETRIC = ("I1", "I2")
RESISTED = ("I2", "R1", "R2", "R3", "W1", "W2", "X1")
"""Barred until the date of an order "no resisted work until"."""
ACTIVE = ("A2", "I1", *RESISTED)
"""Barred until the date of an order "no active work until"."""
SEVERE = ("I1", "I2", "R1", "R2", "R3", "W2", "X1")
MODERATE = ("P1", "A1", "A2", "S1", "S2", "W1")
CLASS_WORDS = {
    "P0": "protection",
    "P1": "passive movement",
    "A1": "assisted movement",
    "A2": "active movement without load",
    "I1": "gentle isometric work",
    "I2": "strong isometric work",
    "R1": "light resisted work",
    "R2": "moderate resisted work",
    "R3": "heavy or fast resisted work",
    "S1": "gentle stretch",
    "S2": "sustained stretch",
    "W1": "part weight through the arm",
    "W2": "full weight through the arm",
    "X1": "work or sport tasks",
}


@dataclass(frozen=True, slots=True)
class Gate:
    """When a stage may open. ``opens`` is None while the surgery or injury date is missing."""

    stage: str
    opens: date | None
    day: int | None
    words: str


@dataclass(frozen=True, slots=True)
class Breach:
    """A healing limit broken on one date. Severity 3 resisted or lifting, 2 active or range, 1 sling."""

    on: date
    severity: int
    sentence: str
    entry_id: int


def onset_word(pathway: Pathway | None) -> str:
    """ "surgery" or "injury", as the pathway counts; empty when it counts from neither."""
    if pathway is None or pathway.clock is None:
        return ""
    return "surgery" if pathway.clock == "surgery" else "injury"


def is_large(view: View, day: date) -> bool:
    """True once orders or a finding say large or massive tear, or poor tissue."""
    told = any(o.tear_size in ("large", "massive") or o.poor_tissue for o in view.orders_on(day))
    seen = [f for f in view.upto("findings") if f.name == "large tear or poor tissue" and f.on <= day]
    return told or (bool(seen) and seen[-1].answer == "yes")


def ordered_date(view: View, pathway: Pathway, stage: Stage, day: date) -> tuple[date, Orders] | None:
    """The date that the newest order naming this stage gives it, as ordered by ``day``."""
    number = pathway.index(stage.code) + 1
    for orders in reversed(view.orders_on(day)):
        opens = orders.stage_from(number)
        if opens is not None:
            return opens, orders
    return None


def gate(view: View, stage: Stage, day: date | None = None) -> Gate | None:
    """The healing gate of ``stage`` as it stood on ``day`` (default today); None when it has none."""
    pathway = view.history.pathway_of(stage.code)
    if pathway is None:
        return None
    when = day or view.today
    ordered = ordered_date(view, pathway, stage, when)
    if ordered:
        return Gate(stage.code, ordered[0], None, f"surgeon's order of {words_date(ordered[1].on)}")
    if stage.opens_day is None:
        return None
    if stage.opens_with_union and _union(view, when):
        return None
    onset = view.onset_for(pathway, when)
    days = stage.opens_day.whole
    if stage.opens_day_large and is_large(view, when):
        days = stage.opens_day_large.whole
    word = onset_word(pathway)
    if onset is None:
        return Gate(stage.code, None, days, f"day {days} after {word}")
    return Gate(stage.code, onset.on + timedelta(days=days), days, f"day {days} after {word}")


def _union(view: View, day: date) -> bool:
    said = [c for c in view.upto("clearances") if c.by == "union" and c.on <= day]
    return bool(said) and said[-1].answer == "yes"


def date_stage(view: View, pathway: Pathway, day: date) -> Stage:
    """The stage that the gates alone would allow on ``day``; the first while the onset is missing."""
    reached = pathway.stages[0]
    for stage in pathway.stages[1:]:
        opening = gate(view, stage, day)
        if opening and (opening.opens is None or opening.opens > day):
            break
        reached = stage
    return reached


def guarded(pathway: Pathway | None) -> bool:
    """True for pathways with healing tissue, whose class limits are breaches rather than advice."""
    return pathway is not None and pathway.clock is not None


def allowed_on(view: View, day: date) -> tuple[str, ...] | None:
    """Load classes allowed on ``day``, the stricter of the stage and the date; None: no healing limit."""
    stage = view.history.stage_on(day)
    pathway = view.history.pathway_of(stage.code) if stage else None
    if stage is None or pathway is None or not guarded(pathway):
        return None
    by_date = date_stage(view, pathway, day)
    classes = tuple(c for c in stage.allowed if c in by_date.allowed)
    for barred, until in order_bars(view, day):
        if day < until:
            classes = tuple(c for c in classes if c not in barred)
    return classes


def order_bars(view: View, day: date) -> list[tuple[tuple[str, ...], date]]:
    """Load classes barred by the orders in force on ``day``, with the date each bar ends."""
    bars: list[tuple[tuple[str, ...], date]] = []
    active = newest([o for o in view.orders_on(day) if o.no_active_until])
    resisted = newest([o for o in view.orders_on(day) if o.no_resisted_until])
    if active:
        bars.append((ACTIVE, active.no_active_until))
    if resisted:
        bars.append((RESISTED, resisted.no_resisted_until))
    return bars


def combined_barred(view: View, day: date) -> bool:
    """True when combined abduction and external rotation is barred on ``day``."""
    stage = view.history.stage_on(day)
    if stage is None:
        return False
    if stage.combined_barred:
        return True
    before = stage.combined_barred_before_day
    onset = view.onset_for(view.history.pathway_of(stage.code), day)
    if before is None:
        return False
    return onset is None or (day - onset.on).days < before.whole


def sling_until(view: View, day: date) -> tuple[date, str] | None:
    """(first day without the sling, by whom) as it stood on ``day``; after surgery only."""
    stage = view.history.stage_on(day)
    pathway = view.history.pathway_of(stage.code) if stage else None
    if pathway is None or pathway.sling_until_day is None:
        return None
    ordered = newest([o for o in view.orders_on(day) if o.sling_until])
    if ordered and ordered.sling_until:
        return ordered.sling_until, f"surgeon's order of {words_date(ordered.on)}"
    onset = view.onset_for(pathway, day)
    if onset is None:
        return None
    return onset.on + timedelta(days=pathway.sling_until_day.whole) + DAY, "template"


# --- breaches -------------------------------------------------------------------------------------------


def class_severity(load_class: str) -> int:
    """3 for resisted, lifting, isometric before its gate, full weight or tasks; 2 for the rest."""
    return 3 if load_class in SEVERE else 2


def breaches(view: View) -> list[Breach]:
    """Every healing limit broken up to the view's date, answered or not, oldest first."""
    memo = view.history.memo
    if "breaches" not in memo:
        whole = View(view.history, date.max)
        memo["breaches"] = sorted(_recorded_breaches(whole), key=lambda b: (b.on, b.entry_id))
    found: list[Breach] = [b for b in memo["breaches"] if b.on <= view.today]
    return [*found, *_programme_breaches(view)]


def _recorded_breaches(view: View) -> list[Breach]:
    found: list[Breach] = []
    for session in view.upto("sessions"):
        found += _session_breaches(view, session)
    for finding in view.upto("findings"):
        if finding.name in ("sling off", "sling weaned") and finding.answer == "yes":
            found += _sling_breach(view, finding.on, finding.id)
    for event in view.upto("events"):
        if event.combined and combined_barred(view, event.on):
            found.append(Breach(event.on, 2, _combined_words(event.on), event.id))
    return [*found, *_range_breaches(view)]


def _session_breaches(view: View, session: Session) -> list[Breach]:
    found: list[Breach] = []
    allowed = allowed_on(view, session.on)
    if allowed is not None:
        for item in session.items:
            if item.load_class not in allowed and item.load_class != "P0":
                found.append(_class_breach(view, session.on, item, session.id))
            elif _more_than_asked(view, item, session.on):
                words = (
                    f"more {item.exercise} than prescribed on {words_date(session.on)}, in a protected stage"
                )
                found.append(Breach(session.on, class_severity(item.load_class), words, session.id))
            if item.combined and combined_barred(view, session.on):
                found.append(Breach(session.on, 2, _combined_words(session.on), session.id))
    if session.sling_off:
        found += _sling_breach(view, session.on, session.id)
    return found


def _more_than_asked(view: View, item: DoneItem, on: date) -> bool:
    """A dose above prescription breaks a limit while tissue heals; elsewhere it is only said."""
    stage = view.history.stage_on(on)
    if stage is None or not stage.protected:
        return False
    sets = item.sets is not None and item.sets_asked is not None and item.sets > item.sets_asked
    reps = item.reps is not None and item.reps_asked is not None and item.reps > item.reps_asked
    return sets or reps


def _class_breach(view: View, on: date, item: DoneItem | ProgrammeItem, entry_id: int) -> Breach:
    onset = view.onset_for(view.history.pathway_of(_stage_code(view, on)), on)
    when = f"day {(on - onset.on).days}" if onset else words_date(on)
    word = onset_word(view.history.pathway_of(_stage_code(view, on)))
    after = f" after {word}" if onset else ""
    words = f"{item.exercise} ({CLASS_WORDS[item.load_class]}) on {when}{after}"
    opening = _opens_for(view, on, item.load_class)
    if opening:
        words += f"; {CLASS_WORDS[item.load_class]} opens on {opening}"
    return Breach(on, class_severity(item.load_class), words, entry_id)


def _stage_code(view: View, on: date) -> str | None:
    stage = view.history.stage_on(on)
    return stage.code if stage else None


def _opens_for(view: View, on: date, load_class: str) -> str:
    """When the class becomes allowed by the gates, in words."""
    pathway = view.history.pathway_of(_stage_code(view, on))
    if pathway is None:
        return ""
    for stage in pathway.stages:
        if load_class in stage.allowed:
            opening = gate(view, stage, on)
            if opening and opening.opens:
                day = f"day {opening.day}, " if opening.day is not None else ""
                return f"{day}{words_date(opening.opens)}"
            return ""
    return ""


def _combined_words(on: date) -> str:
    return f"combined abduction and external rotation on {words_date(on)}"


def _sling_breach(view: View, on: date, entry_id: int) -> list[Breach]:
    limit = sling_until(view, on)
    if limit is None or on >= limit[0]:
        return []
    words = f"sling off on {words_date(on)}, to be worn until {words_date(limit[0])} ({limit[1]})"
    return [Breach(on, 1, words, entry_id)]


def _range_breaches(view: View) -> list[Breach]:
    """Range beyond a typed order limit in force on the day it was measured."""
    found: list[Breach] = []
    if not guarded(view.pathway):
        return found
    for measure in view.upto("measures"):
        if isinstance(measure.value, Absence) or measure.repeated:
            continue
        if measure.side not in (None, view.record.side):
            continue
        limit = _range_limit(view, measure.name, measure.on)
        if limit is not None and degrees(measure) > limit:
            label = view.rules.measures[measure.name].label
            words = f"{label} {degrees(measure)} on {words_date(measure.on)}, ordered limit {limit}"
            found.append(Breach(measure.on, 2, words, measure.id))
    return found


ROTATIONS = ("passive_external_rotation", "active_external_rotation")
ELEVATIONS = ("passive_flexion", "active_flexion", "passive_abduction", "active_abduction")


def _range_limit(view: View, name: str, day: date) -> int | None:
    orders = view.orders_on(day)
    if name in ROTATIONS:
        told = newest([o for o in orders if o.external_rotation_limit is not None])
        return told.external_rotation_limit if told else None
    if name in ELEVATIONS:
        told = newest([o for o in orders if o.elevation_limit is not None])
        return told.elevation_limit if told else None
    return None


def in_force(view: View) -> list[ProgrammeItem]:
    """The programme today: the newest version of each exercise that has not been stopped."""
    items: dict[str, ProgrammeItem] = {}
    for item in view.upto("programme"):
        items[item.exercise] = item
    start = view.segment_start
    return [i for i in items.values() if i.stopped is None and (start is None or i.on >= start)]


def _programme_breaches(view: View) -> list[Breach]:
    """A class in today's programme that today does not allow: live as long as it stands there."""
    allowed = allowed_on(view, view.today)
    if allowed is None:
        return []
    barred = combined_barred(view, view.today)
    found: list[Breach] = []
    for item in in_force(view):
        if item.load_class not in allowed and item.load_class != "P0":
            breach = _class_breach(view, view.today, item, item.id)
            found.append(Breach(view.today, breach.severity, f"in the programme: {breach.sentence}", item.id))
        elif item.combined and barred:
            words = f"in the programme: {item.exercise}, combined abduction and external rotation"
            found.append(Breach(view.today, 2, words, item.id))
    return found


def open_breaches(view: View) -> list[Breach]:
    """Breaches that no contact or visit with a corrected plan has answered since."""
    if view.closed or view.span is None:
        return []
    answers = [c.on for c in view.upto("contacts") if c.spoken and c.plan_corrected]
    answers += [v.on for v in view.upto("visits") if v.plan_corrected]
    last = max(answers, default=None)
    programme = {i.id for i in in_force(view)}
    return [
        b
        for b in breaches(view)
        if last is None or b.on > last or (b.entry_id in programme and b.on == view.today)
    ]


# --- what to print first --------------------------------------------------------------------------------


def limits_in_force(view: View) -> tuple[str, ...]:
    """Today's limits in words, the surgeon's orders first."""
    pathway, stage = view.pathway, view.stage
    if pathway is None or stage is None or view.closed:
        return ()
    lines: list[str] = []
    if pathway.needs_orders and not view.orders_on(view.today):
        lines.append("ORDERS MISSING: template used because no surgeon's orders are recorded")
    lines += _order_lines(view)
    lines += _template_lines(view, pathway, stage)
    lim = stage.limits
    lines.append(
        f"pain: during at most {lim.during.whole}, later at most {lim.later.whole},"
        f" next morning at most {lim.rise.whole} above baseline"
    )
    return tuple(lines)


def _order_lines(view: View) -> list[str]:
    lines: list[str] = []
    orders = view.orders_on(view.today)
    for words, attribute in (
        ("no active movement until", "no_active_until"),
        ("no resisted work until", "no_resisted_until"),
    ):
        told = newest([o for o in orders if getattr(o, attribute)])
        if told and getattr(told, attribute) > view.today:
            until = words_date(getattr(told, attribute))
            lines.append(f"{words} {until} (surgeon's order of {words_date(told.on)})")
    for words, attribute, unit in (
        ("external rotation at most", "external_rotation_limit", "degrees"),
        ("elevation at most", "elevation_limit", "degrees"),
        ("no lifting over", "lifting_limit", "kg"),
    ):
        told = newest([o for o in orders if getattr(o, attribute) is not None])
        if told:
            lines.append(
                f"{words} {getattr(told, attribute)} {unit} (surgeon's order of {words_date(told.on)})"
            )
    vague = newest([o for o in orders if o.text])
    if vague:
        lines.append(f"order of {words_date(vague.on)}: {vague.text}")
    return lines


def _template_lines(view: View, pathway: Pathway, stage: Stage) -> list[str]:
    lines: list[str] = []
    sling = sling_until(view, view.today)
    if sling and view.today < sling[0]:
        lines.append(f"sling on until {words_date(sling[0])} ({sling[1]})")
    allowed = allowed_on(view, view.today)
    if allowed is not None and guarded(pathway):
        barred = [w for w, group in _BARRED if not any(c in allowed for c in group)]
        if barred:
            lines.append("no " + ", no ".join(barred))
        if combined_barred(view, view.today):
            lines.append("no combined abduction and external rotation")
        following = view.next_stage
        opening = gate(view, following) if following else None
        if following and opening and opening.opens and opening.opens > view.today:
            lines.append(f"{following.code} opens {words_date(opening.opens)} ({opening.words})")
        elif following and opening and opening.opens is None:
            lines.append(f"{onset_word(pathway)} date missing: no stage opens")
        if following:
            lines += _differs(view, pathway, following)
    return lines


_BARRED = (
    ("passive movement", ("P1",)),
    ("assisted movement", ("A1",)),
    ("active lift", ("A2",)),
    ("isometric work", ISOMETRIC),
    ("resisted work", ("R1", "R2", "R3")),
    ("full weight through the arm", ("W2",)),
)


def _differs(view: View, pathway: Pathway, stage: Stage) -> list[str]:
    """The surgeon's date for the next stage where it is not the template's."""
    ordered = ordered_date(view, pathway, stage, view.today)
    onset = view.onset()
    if not ordered or onset is None or stage.opens_day is None:
        return []
    template = onset.on + timedelta(days=stage.opens_day.whole)
    if template == ordered[0]:
        return []
    return [f"surgeon's order, differs from template ({words_date(template)})"]
