"""Good sessions: which sessions count, which slip, which are passed over, and what ends their reading.

Ruling 75 with 95. Recorded sessions and periods told in one line are read together, as observations.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from heapq import merge
from typing import NamedTuple

from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.classes import FLARE, GOOD, IN_WORDS, OVER, RAISED
from armrise.store.clinic.pain.response import Judged, Line, Response
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem
from armrise.store.record.light import dataclass
from armrise.store.record.words import words_date
from armrise.store.rules.criterion import Criterion

END, SLIP, UNTOLD, COUNTS, SKIP = "end", "slip", "untold", "counts", "skip"
"""What a session does to a run: ends it, is forgiven within bounds, lacks its sets, counts, is passed over.

Of two sessions of a date the first of these decides.
"""
WORST_FIRST = (END, SLIP, UNTOLD, COUNTS, SKIP)


class Observation(NamedTuple):
    """What one date's sessions, or a period told in one line, say of a criterion about good sessions."""

    on: date
    weight: str
    """One of :data:`WORST_FIRST`."""
    why: str = ""
    """What made it a slip or the end, in words."""
    missing: str = ""
    """What to ask for, where it is passed over for want of that."""
    counts_as: int = 1
    """How many good sessions it is worth."""
    period: int = 0
    """Days of the period told that lie in the present stage; 0 for recorded sessions."""

    @property
    def told(self) -> bool:
        """True for a period as told, which is read just older than the sessions of its date."""
        return self.period > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Good sessions counted back from the newest, ``told`` of them as told, and the slips between.

    ``broken`` is True when a flare or slips ended it (not met); otherwise it was reached, or it ended for
    lack of sessions or scores (unknown) and ``missing`` says what to ask.
    """

    count: int
    told: int
    slips: int
    newest: date | None
    oldest: date | None
    """The date of the observation that decided it; None where none did, and it was read back to the end."""
    broken: bool
    ended: str
    missing: str


def in_order(sessions: Iterable[Observation], periods: Iterable[Observation]) -> Iterator[Observation]:
    """Both newest first as one; of one date a period as told is read just older than the sessions."""
    return merge(sessions, periods, key=lambda o: (-o.on.toordinal(), o.told))


def read_back(
    view: View, sessions: Iterable[Observation], periods: Sequence[Observation], wanted: int
) -> Run:
    """Sessions and periods as told, both newest first, read until ``wanted`` good ones or what ends them."""
    reading = _Reading(view, wanted, min((p.on for p in periods), default=None))
    nothing_left = "no session"
    for seen in in_order(sessions, periods) if periods else sessions:
        decided = reading.take(seen)
        if decided:
            return decided
        nothing_left = "no older session in this stage"
    return reading.run(ended=reading.closed or nothing_left)


class _Reading:
    """How far a run has been read, from the newest observation back."""

    def __init__(self, view: View, wanted: int, oldest_period: date | None) -> None:
        self.view = view
        self.wanted = wanted
        self.oldest_period = oldest_period
        healing = view.pathway is not None and view.pathway.clock is not None
        self.slips_allowed = view.rules["response.run_slips_healing" if healing else "response.run_slips"]
        self.counted: list[Observation] = []
        self.closed = ""
        """Why recorded sessions from here on are too old to count."""
        self.missing = ""

    def take(self, seen: Observation) -> Run | None:
        """Reads one observation more; the run, where that decides it.

        Past a gap, or past the window, only a flare still speaks, on the way to an older period as told.
        """
        beyond = self._out_of_reach(seen)
        self.closed = self.closed or beyond
        if self.closed and (self.oldest_period is None or seen.on < self.oldest_period):
            return self.run(ended=self.closed)
        if seen.weight in (SKIP, UNTOLD):
            self.missing = self.missing or ("" if self.closed else seen.missing)
            return None
        if seen.weight == END:
            return self.run(ended=seen.why, broken=True, oldest=seen.on)
        if beyond or (self.closed and not seen.told):
            return None
        self.counted.append(seen)
        if seen.weight == SLIP and (self.counted == [seen] or self._slips > self.slips_allowed):
            return self.run(ended=seen.why, broken=True, oldest=seen.on)
        return self.run(oldest=seen.on) if self._count >= self.wanted else None

    def _out_of_reach(self, seen: Observation) -> str:
        """Why an observation is too old to count, in words; empty when it is not."""
        rules, newer = self.view.rules, self.counted[-1] if self.counted else None
        window = rules["summary.window_days" if seen.told and newer else "response.run_window_days"]
        if (self.view.today - seen.on).days > window:
            return f"older sessions are past {window} days"
        both_told = newer is not None and newer.told and seen.told
        if newer and not both_told and (newer.on - seen.on).days > rules["response.run_gap_days"]:
            return f"gap before {words_date(newer.on)}"
        return ""

    @property
    def _count(self) -> int:
        return sum(o.counts_as for o in self.counted if o.weight == COUNTS)

    @property
    def _slips(self) -> int:
        return sum(o.weight == SLIP for o in self.counted)

    def run(self, *, ended: str = "", broken: bool = False, oldest: date | None = None) -> Run:
        """The run as read so far."""
        return Run(
            count=self._count,
            told=sum(o.counts_as for o in self.counted if o.weight == COUNTS and o.told),
            slips=self._slips,
            newest=self.counted[0].on if self.counted else None,
            oldest=oldest,
            broken=broken,
            ended=ended,
            missing=self.missing,
        )


# --- recorded sessions ----------------------------------------------------------------------------------


def recorded(view: View, criterion: Criterion) -> Iterator[Observation]:
    """The recorded sessions of the present stage as a criterion sees them, newest first, one a date.

    What one of an earlier date says is kept: what is told later changes nothing of it.
    """
    # By identity, as the hash of a criterion takes long; kept with it, so that no other has the same one.
    _, weighed = view.history.once(("weighed", id(criterion)), lambda: (criterion, dict[date, Observation]()))
    for judged in reversed(Line(Response.of(view), view.today, view.stage_start)):
        if judged.on == view.today:  # its next morning is not known yet, though a later view knew it
            yield _weigh(view, criterion, judged)
            continue
        if judged.on not in weighed:
            weighed[judged.on] = _weigh(view, criterion, judged)
        yield weighed[judged.on]


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


def _weigh(view: View, criterion: Criterion, judged: Judged) -> Observation:
    """The sessions of one date: the worst decides. What went wrong counts whatever class was asked."""
    why = f"{IN_WORDS[judged.klass]} on {words_date(judged.on)}: {judged.cause}"
    if judged.klass == FLARE or judged.over > view.rules["response.slip_over"]:
        return Observation(judged.on, END, why)
    if judged.klass in (OVER, RAISED):
        return Observation(judged.on, SLIP, why)
    known = judged.klass == GOOD
    weighed = [_weigh_one(view, criterion, s, known) for s in Response.of(view).by_date[judged.on]]
    weight, why = min(weighed, key=lambda w: WORST_FIRST.index(w[0]))
    lacks = weight == UNTOLD or (weight == SKIP and not known)
    return Observation(judged.on, weight, why, _what_is_missing(view, judged, weight) if lacks else "")


def _weigh_one(view: View, criterion: Criterion, session: Session, known: bool) -> tuple[str, str]:
    """(weight, why) of one session within the limits: ``known`` when its scores are all there and good."""
    limit, during, when = criterion.at_most, session.during, words_date(session.on)
    if limit is not None and isinstance(during, int) and during > limit:
        return SLIP, f"pain during {during} on {when}, needs {int(limit)} or less"
    if not known:
        return SKIP, ""
    done = completeness(view, session)
    # Without a count "part" of the dose is below what has to be done (ruling 74).
    short = session.dose == "part" if done is None else done < view.rules["response.complete_percent"]
    if short:
        return SLIP, f"dose not completed on {when}"
    # The items the criterion speaks of: its load classes, above the shoulder where it says so.
    items = [i for i in session.items if i.load_class in criterion.load_class]
    items = [i for i in items if i.above_shoulder or not criterion.above_shoulder]
    if criterion.load_class and not items:
        return SKIP, ""
    if done is None:
        return UNTOLD, ""
    sets, reps = criterion.sets or 0, criterion.reps or 0
    if criterion.load_class and not any((i.sets or 0) >= sets and (i.reps or 0) >= reps for i in items):
        return SLIP, f"dose below the criterion on {when}"
    return COUNTS, ""


def _what_is_missing(view: View, judged: Judged, weight: str) -> str:
    when, least = words_date(judged.on), view.rules["baseline.least"]
    if weight == UNTOLD:
        return f"sets done on {when}"
    mornings = Response.of(view).mornings_found(min(judged.on + DAY, view.today))
    if judged.missing == ("baseline",) or (judged.baseline is None and mornings < least):
        more = max(1, least - mornings)
        return f"{more} more morning{'s' if more > 1 else ''} needed for a baseline"
    return f"{judged.missing[0]} for last session ({when})" if judged.missing else ""
