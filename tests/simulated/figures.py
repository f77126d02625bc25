"""The list held against the truth: what was found and when, what was called ready, what was a false alarm."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from statistics import mean, median

from armrise.store.clinic.case.standing import Word
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Contact
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure
from armrise.store.rules.pathway import Stage
from tests.clinic.build import rules
from tests.simulated.chart import DAY, Chart
from tests.simulated.clinician import URGENT, Clinic, Look
from tests.simulated.ready import opened, truly_ready
from tests.simulated.truth import Shoulder

FOUND_WITHIN = 20
"""Days within which a true flare has to be shown where a diary is kept."""
READY_FOR = 7
"""Days of true readiness from which a stay counts."""
AFTERMATH = timedelta(days=28)
"""What is said within these days after a true trouble is no false alarm."""
VISIBLE_LOSS = 15
"""Degrees of true loss from which "losing range" ought to be found."""
SHOWN_BY = {
    "stiffening": {"STF", "WAT", "FUN"},
    "tear": {"FUN", "INJ", "FND", "RED", "STF"},
    "wound": {"FND", "RED", "MSU"},
    "nerve": {"FND", "RED"},
    "cancer": {"VIS", "RED", "FLA"},
    "fall": {"INJ"},
}
"""What shows each danger."""
SIGNS = {
    "nerve": {("badge sensation lost", "yes"), ("deltoid contracts", "no")},
    "wound": {("wound dry", "no"), ("wound discharge or fever after surgery", "yes")},
    "cancer": {("unrelenting night pain", "yes")},
    "fall": set[tuple[str, str]](),
}
"""What of it stands on record: a finding or an item with its answer; a message or an event does for any."""
LOST = {"stiffening": ("passive_external_rotation", VISIBLE_LOSS), "tear": ("active_flexion", 30)}
"""The same where range is lost: the measure, and degrees below its best, beyond the error of one rater."""


# --- the figures ----------------------------------------------------------------------------------------


@dataclass(slots=True)
class Figures:
    """What one clinic's list did. Pairs are (how many did, of how many)."""

    ready_stays: list[int] = field(default_factory=lambda: [0, 0])
    ready_days: Counter[str] = field(default_factory=Counter)
    """READY by what was true: right, early, danger unseen, danger on record, shut (gate or minimum days)."""
    flares: list[int | None] = field(default_factory=list)
    """Days until each true flare was shown; None where it was not."""
    next_contact: list[int] = field(default_factory=lambda: [0, 0])
    false_flares: list[int] = field(default_factory=lambda: [0, 0])
    dangers: dict[str, list[int | None]] = field(default_factory=lambda: defaultdict(list))
    on_record: list[int] = field(default_factory=lambda: [0, 0])
    """Dangers shown at the first look at which a sign of them stood on record."""
    top_share: list[float] = field(default_factory=list)
    false_alarms: Counter[str] = field(default_factory=Counter)
    case_days: int = 0
    notes: list[str] = field(default_factory=list)
    """Where a figure is made up of one case: for whoever looks for the reason."""


def figures(clinics: Iterable[Clinic]) -> Figures:
    """The figures of several clinics together."""
    made = Figures()
    for clinic in clinics:
        looks: dict[str, list[Look]] = defaultdict(list)
        for look in clinic.looks:
            looks[look.chart.shoulder.code].append(look)
        _tiers(made, clinic)
        for chart in clinic.charts:
            _ready(made, chart, looks[chart.shoulder.code])
            _flares(made, chart, looks[chart.shoulder.code])
            _danger(made, chart, looks[chart.shoulder.code])
            _alarms(made, chart, looks[chart.shoulder.code])
    return made


def _tiers(made: Figures, clinic: Clinic) -> None:
    days: dict[date, list[bool]] = defaultdict(list)
    for look in clinic.looks:
        if not look.at_visit:
            days[look.day].append(look.standing.tier in URGENT)
    made.top_share += [mean(found) for found in days.values()]
    made.case_days += sum(map(len, days.values()))


# --- ready ----------------------------------------------------------------------------------------------


def _ready(made: Figures, chart: Chart, looks: Sequence[Look]) -> None:
    for stay in _stays(looks):
        stage = rules().pathways[stay[0].stage[:2]].stage(stay[0].stage)
        assert stage is not None
        true = [look for look in stay if truly_ready(chart, stage, look.entered, look.day)]
        called = [look for look in stay if look.standing.verdict.word is Word.READY]
        long = len({look.day for look in true}) and (true[-1].day - true[0].day).days >= READY_FOR
        if long or (true and called):
            made.ready_stays[1] += 1
            made.ready_stays[0] += bool(called)
            if not called:
                line = true[-1].standing.verdict.line
                made.notes.append(f"{_place(true[-1])} truly ready, not called: {line}")
        for look in called:
            made.ready_days[_how_ready(made, chart, stage, look, look in true)] += 1


def _stays(looks: Sequence[Look]) -> Iterator[list[Look]]:
    """The looks of each unbroken stay in a stage."""
    stays: dict[tuple[str, date], list[Look]] = defaultdict(list)
    for look in looks:
        stays[look.stage, look.entered].append(look)
    yield from stays.values()


def _how_ready(made: Figures, chart: Chart, stage: Stage, look: Look, right: bool) -> str:
    danger = chart.shoulder.endangered(look.day)
    if danger and danger.kind == "fall" and look.at_visit:
        danger = None  # assessed at this visit
    if not opened(chart, stage, look.entered, look.day):
        made.notes.append(f"{_place(look)} READY while shut")
        return "shut"
    if danger and on_record(look):
        made.notes.append(f"{_place(look)} READY, {danger.kind} on record")
        return "danger on record"
    if danger or chart.shoulder.flare(look.day):
        return "danger unseen"
    return "right" if right else "early"


def on_record(look: Look) -> bool:
    """Whether a sign of the danger stood in the record when the rules were asked."""
    danger = look.chart.shoulder.endangered(look.day)
    if danger is None:
        return False
    known = look.chart.made.entries[: look.known]
    if danger.kind in LOST:
        return _lost(known, *LOST[danger.kind])
    since = [e for e in known if e.on >= danger.start]
    said = {(getattr(e, "name", None) or getattr(e, "item", e.KIND), getattr(e, "answer", "")) for e in since}
    return bool(said & SIGNS[danger.kind]) or any(e.KIND == "event" or _message(e) for e in since)


def _lost(known: Sequence[Entry], name: str, degrees: int) -> bool:
    """A newest value so far below the shoulder's own best, whichever day that was and however often seen."""
    values = [_degrees(e) for e in known if isinstance(e, Measure) and e.name == name and e.side is None]
    return bool(values) and max(values) - values[-1] >= degrees


def _degrees(measure: Measure) -> float:
    return 0.0 if isinstance(measure.value, Absence) else float(measure.value)


def _message(entry: Entry) -> bool:
    return isinstance(entry, Contact) and entry.outcome == "message received"


# --- flares, dangers, false alarms ----------------------------------------------------------------------


def _shown(looks: Sequence[Look], codes: set[str], first: date, last: date) -> Look | None:
    inside = (look for look in looks if first <= look.day <= last)
    return next((look for look in inside if codes & {r.code for r in look.standing.reasons}), None)


def _flares(made: Figures, chart: Chart, looks: Sequence[Look]) -> None:
    if not looks:
        return
    for flare in chart.shoulder.flares:
        end = flare.start + timedelta(days=FOUND_WITHIN)
        if flare.start <= looks[0].day or (chart.closed and flare.start >= chart.closed):
            continue
        visit = next((x for x in looks if x.at_visit and x.day > flare.start + DAY), None)
        found = _shown(looks, {"FLA"}, flare.start, end)
        if chart.diary and looks[-1].day >= end:
            made.flares.append((found.day - flare.start).days if found else None)
        if visit and (visit.day - flare.start).days <= AFTERMATH.days:
            made.next_contact[1] += 1
            made.next_contact[0] += bool(_shown(looks, {"FLA"}, flare.start, visit.day))
        if found is None and looks[-1].day >= end:
            made.notes.append(f"{_place(looks[0])} not shown: {flare}, next visit {visit and visit.day}")
    for onset in _onsets(looks, "FLA"):
        made.false_flares[1] += 1
        if not _troubled(chart.shoulder, onset.day):
            made.false_flares[0] += 1
            sentence = next(r.sentence for r in onset.standing.reasons if r.code == "FLA")
            made.notes.append(f"{_place(onset)} false: {sentence}")


def _onsets(looks: Sequence[Look], code: str) -> Iterator[Look]:
    """The first look of every stretch in which a reason is live."""
    before = False
    for look in looks:
        live = any(r.code == code for r in look.standing.reasons)
        if live and not before:
            yield look
        before = live


def _troubled(shoulder: Shoulder, day: date) -> bool:
    """Whether the shoulder was in a flare or in danger within the aftermath."""
    flares = any(f.start <= day and shoulder.flare_end(f) >= day - AFTERMATH for f in shoulder.flares)
    over = shoulder.settled is not None and shoulder.settled >= day - AFTERMATH
    return flares or over or shoulder.endangered(day) is not None or _stiff(shoulder, day)


def _stiff(shoulder: Shoulder, day: date) -> bool:
    """A shoulder stiff at three months after a repair is in trouble, whatever it was before."""
    planes = ("passive_flexion", 125), ("passive_external_rotation", 35)
    late = shoulder.stage.startswith("PO") and shoulder.days_healing(day) >= 77
    return late and any(shoulder.value(name, day) < degrees for name, degrees in planes)


def _danger(made: Figures, chart: Chart, looks: Sequence[Look]) -> None:
    danger = chart.shoulder.danger
    first = next((look for look in looks if on_record(look)), None)
    if danger and first:
        shown = bool(SHOWN_BY[danger.kind] & {r.code for r in first.standing.reasons})
        made.on_record[1] += 1
        made.on_record[0] += shown
        if not shown:
            made.notes.append(f"{_place(first)} on record and not shown: {danger}")
    if danger is None or not looks:
        return
    start = max(danger.start, chart.shoulder.first)
    start += timedelta(days=VISIBLE_LOSS if danger.kind == "stiffening" else 0)
    found = _shown(looks, SHOWN_BY[danger.kind], start, looks[-1].day)
    if found or looks[-1].day > start + timedelta(days=FOUND_WITHIN):
        made.dangers[danger.kind].append((found.day - start).days if found else None)
    if found is None:
        made.notes.append(f"{_place(looks[-1])} not shown: {danger}")


def _alarms(made: Figures, chart: Chart, looks: Sequence[Look]) -> None:
    """Days on which an untroubled shoulder stands in the top two tiers, by the reason that puts it there.

    A protected case out of sight is one, whatever its shoulder does.
    """
    for look in looks:
        placing = look.standing.placing
        if look.at_visit or placing is None or placing.tier not in URGENT or placing.code == "LOST":
            continue
        if not _troubled(chart.shoulder, look.day):
            made.false_alarms[placing.code] += 1
            made.notes.append(f"{_place(look)} alarm: {placing.sentence}")


def _place(look: Look) -> str:
    """Whose look, when."""
    return f"{look.chart.shoulder.code} {look.stage} {look.day:%d %b}"


# --- printed --------------------------------------------------------------------------------------------


def printed(made: Figures, *, diary: bool) -> Iterator[str]:
    """The figures in lines, each with its target (ruling 75)."""
    did, of = made.ready_stays
    yield f"ready stays called READY      {_share(did, of)}  (target {'80' if diary else '60'} %)"
    words = ("right", "early", "danger unseen", "danger on record", "shut")
    told = ", ".join(f"{word} {made.ready_days[word]}" for word in words)
    yield f"looks that said READY         {told}  (target: on record 0, shut 0)"
    if diary:
        found = [d for d in made.flares if d is not None]
        days = f", median {median(found):g} days" if found else ""
        share = _share(len(found), len(made.flares))
        yield f"flares shown in {FOUND_WITHIN} days       {share}{days}  (target 83 %)"
    yield f"flares shown by the next visit {_share(*made.next_contact)}  (target 67 % with visits only)"
    yield f"false flares                  {_share(*made.false_flares)}  (target at most 10 %)"
    for kind, all_days in sorted(made.dangers.items()):
        found = [d for d in all_days if d is not None]
        yield f"{kind:<12} found            {_share(len(found), len(all_days))} after days {sorted(found)}"
    yield f"dangers shown once on record  {_share(*made.on_record)}  (target all)"
    yield f"top two tiers                 {100 * mean(made.top_share):.0f} % of cases a day  (target 15 %)"
    told = ", ".join(f"{code} {days}" for code, days in made.false_alarms.most_common())
    alarms = sum(made.false_alarms.values())
    yield f"false alarms                  {alarms} of {made.case_days} case-days: {told}"


def _share(did: int, of: int) -> str:
    return f"{did} of {of} ({100 * did / of:.0f} %)" if of else "none"
