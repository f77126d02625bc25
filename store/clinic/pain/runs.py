"""Good sessions in a row: which sessions count, which are passed over, and what ends a run."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.response import FLARE, GOOD, RAISED, Judged, Response
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem
from armrise.store.record.words import words_date
from armrise.store.rules.pathway import Criterion

COUNTS, SKIP, BREAK = "counts", "skip", "break"


@dataclass(frozen=True, slots=True)
class Run:
    """Qualifying sessions counted back from the newest.

    ``broken`` is True when a flare, a raised or a short session ended it (not met); otherwise it ended for
    lack of sessions or scores (unknown) and ``missing`` says what to ask.
    """

    count: int
    newest: date | None
    broken: bool
    ended: str
    missing: str


def asked_sets(view: View, session: Session, item: DoneItem) -> int | None:
    """Sets prescribed for one exercise of a session: as recorded, else by the programme of that date."""
    if item.sets_asked is not None:
        return item.sets_asked
    programme: list[ProgrammeItem] = view.upto("programme")
    before = [p.sets for p in programme if p.on <= session.on and p.exercise == item.exercise]
    return before[-1] if before else None


def completeness(view: View, session: Session) -> int | None:
    """Per cent of the prescribed sets done; None when sets were not recorded."""
    done = asked = 0
    for item in session.items:
        prescribed = asked_sets(view, session, item)
        if item.sets is None or prescribed is None:
            return None
        done += min(item.sets, prescribed)
        asked += prescribed
    return done * 100 // asked if asked else None


def _weigh(view: View, criterion: Criterion, judged: Judged) -> tuple[str, str]:
    """(counts / skip / break, why) for the sessions of one date: the worse of two decides."""
    if judged.klass in (FLARE, RAISED):
        return BREAK, f"{judged.klass} on {words_date(judged.on)}: {judged.cause}"
    known = judged.klass == GOOD
    weighed = [_weigh_one(view, criterion, s, known) for s in Response.of(view).by_date[judged.on]]
    return min(weighed, key=lambda w: (BREAK, "sets", COUNTS, SKIP).index(w[1] if w[1] == "sets" else w[0]))


def _weigh_one(view: View, criterion: Criterion, session: Session, known: bool) -> tuple[str, str]:
    """One session without a flare: ``known`` when its scores are all there and good."""
    # The items the criterion speaks of: its load classes, above the shoulder where it says so.
    items = [i for i in session.items if i.load_class in criterion.load_class]
    items = [i for i in items if i.above_shoulder or not criterion.above_shoulder]
    if criterion.load_class and not items:
        return SKIP, ""
    limit, during, when = criterion.at_most, session.during, words_date(session.on)
    if limit is not None and isinstance(during, int) and during > limit:
        return BREAK, f"pain during {during} on {when}, needs {int(limit)} or less"
    if not known:
        return SKIP, ""
    done = completeness(view, session)
    if done is None:
        return SKIP, "sets"
    if done < view.rules["response.complete_percent"]:
        return BREAK, f"dose not completed on {when}"
    sets, reps = criterion.sets or 0, criterion.reps or 0
    if criterion.load_class and not any((i.sets or 0) >= sets and (i.reps or 0) >= reps for i in items):
        return BREAK, f"dose below the criterion on {when}"
    return COUNTS, ""


def _what_is_missing(judged: Judged, sets: bool, mornings: int, least: int) -> str:
    when = words_date(judged.on)
    if sets:
        return f"sets done on {when}"
    if judged.missing == ("baseline",) or (judged.baseline is None and mornings < least):
        more = max(1, least - mornings)
        return f"{more} more morning{'s' if more > 1 else ''} needed for a baseline"
    return f"{judged.missing[0]} for last session ({when})" if judged.missing else ""


def count_run(view: View, criterion: Criterion) -> Run:
    """The run of qualifying sessions that ends with the newest, for one criterion."""
    rules, response = view.rules, Response.of(view)
    start, window = view.stage_start, rules["response.run_window_days"]
    count, incompletes = 0, 0
    newest_day: date | None = None
    newer: Judged | None = None
    missing = ended = ""
    for judged in reversed(response.all(view.today)):
        if start and judged.on < start:
            ended = ended or "no older session in this stage"
            break
        if (view.today - judged.on).days > window:
            ended = ended or f"older sessions are past {window} days"
            break
        if newer and (newer.on - judged.on).days > rules["response.run_gap_days"]:
            ended = f"gap before {words_date(newer.on)}"
            break
        newer = judged
        verdict, why = _weigh(view, criterion, judged)
        if verdict == COUNTS:
            count, incompletes, newest_day = count + 1, 0, newest_day or judged.on
        elif verdict == BREAK:
            return Run(count, newest_day, True, why, "")
        elif judged.klass != GOOD or why == "sets":
            incompletes += 1
            mornings = response.mornings_found(min(judged.on + DAY, view.today))
            missing = missing or _what_is_missing(judged, why == "sets", mornings, rules["baseline.least"])
            if incompletes == 2:
                ended = "two incomplete sessions side by side"
                break
        if criterion.good and count >= criterion.good:
            break
    return Run(count, newest_day, False, ended or ("no session" if not count else ""), missing)
