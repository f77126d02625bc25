"""The class of a period told in one line: flare, over the limit, raised, incomplete, good (ruling 73).

What is recalled of weeks stands for no single session: it is held against the limits with a margin, and what
was recorded in the same days speaks first where it tells of harm.
"""

from __future__ import annotations

from datetime import timedelta

from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.classes import FLARE, GOOD, INCOMPLETE, OVER, RAISED
from armrise.store.clinic.pain.masking import mask_days
from armrise.store.clinic.pain.response import Judged, Response
from armrise.store.clinic.pain.sustained import raised_mornings
from armrise.store.record.kinds.pain import DOSE_WORDS, PeriodSummary
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import count_days, month_day, words_date
from armrise.store.rules.pathway import Pathway, Stage


class Period(NamedTuple):
    """A period summary with its class, what made it so in words, and what was not told of it."""

    told: PeriodSummary
    klass: str
    cause: str = ""
    missing: tuple[str, ...] = ()
    recorded: tuple[Judged, ...] = ()
    """The sessions of known class recorded in its days."""

    @property
    def words(self) -> str:
        """ "as told for 16 Feb to 2 Mar"."""
        return f"as told for {month_day(self.told.since)} to {month_day(self.told.on)}"


def periods(view: View) -> list[Period]:
    """Every period told of this episode's tissue up to the view's date, judged, oldest first."""
    return [period_of(view, told) for told in view.since("summaries", view.segment_start)]


def period_of(view: View, told: PeriodSummary) -> Period:
    """One period, judged by the limits of the stage on its date and by what was recorded in its days."""
    return view.history.once(("period", told.id, view.today), lambda: _judge(view, told))


def heals(view: View, told: PeriodSummary) -> bool:
    """True where the pathway of its date counts from surgery or injury."""
    pathway = _pathway(view, told)
    return pathway is not None and pathway.clock is not None


def is_flare(view: View, told: PeriodSummary) -> bool:
    """Whether enough mornings were worse than usual: a flare, as told."""
    return told.mornings_worse is not None and told.mornings_worse >= view.rules["summary.flare_mornings"]


def masked(view: View, told: PeriodSummary) -> bool:
    """Whether a day of the period is masked by an injection or analgesic (ruling 50)."""
    masking = [(m.on, days) for m in view.upto("medicines") if (days := mask_days(view.rules, m))]
    return any(on <= told.on and told.since <= on + timedelta(days=days) for on, days in masking)


def _pathway(view: View, told: PeriodSummary) -> Pathway | None:
    span = view.history.span_on(told.on)
    return view.history.pathway_of(span.stage if span else None)


def _judge(view: View, told: PeriodSummary) -> Period:
    if is_flare(view, told):
        return Period(told, FLARE, f"{_mornings(told)} worse than usual")
    stage = view.history.stage_on(told.on)
    if stage is None:
        return Period(told, INCOMPLETE)
    over = _over(view, told, stage)
    if over:
        return Period(told, OVER, over)
    known = [j for j in Response.of(view).between(told.since, view.today, told.on) if j.known]
    harmed = _flared(view, told, known)
    if harmed:
        return Period(told, RAISED, harmed, (), tuple(known))
    missing = _missing(told)
    if missing:
        return Period(told, INCOMPLETE, "", missing, tuple(known))
    short = _short_of_good(view, told, stage)
    return Period(told, RAISED if short else GOOD, short, (), tuple(known))


def _mornings(told: PeriodSummary) -> str:
    return f"{told.mornings_worse} morning{'' if told.mornings_worse == 1 else 's'}"


def _over(view: View, told: PeriodSummary, stage: Stage) -> str:
    """What lay above its limit by more than the worst of weeks may, in words; empty where nothing did."""
    margin = view.rules["summary.worst_over"]
    for when, worst, limit in (
        ("during", told.worst_during, stage.limits.during.whole),
        ("later", told.worst_later, stage.limits.later.whole),
    ):
        if worst is not None and worst > limit + margin:
            return f"worst pain {when} {worst}, limit {limit}"
    return ""


def _flared(view: View, told: PeriodSummary, known: list[Judged]) -> str:
    """The newest flare recorded in the period, a session or a morning, in words; empty without one."""
    flares = [j for j in known if j.klass == FLARE]
    if flares:
        return f"flare recorded on {words_date(flares[-1].on)}"
    woke = raised_mornings(view, told.since, told.on)
    return f"raised morning recorded on {words_date(woke[-1])}" if woke else ""


def _missing(told: PeriodSummary) -> tuple[str, ...]:
    asked = (
        ("days done", told.days_done),
        ("days asked", told.days_asked),
        ("worst pain during", told.worst_during),
        ("worst pain later", told.worst_later),
        ("mornings worse", told.mornings_worse),
        ("dose", told.dose),
    )
    return tuple(name for name, value in asked if value is None)


def _short_of_good(view: View, told: PeriodSummary, stage: Stage) -> str:
    """What keeps a period that is told in full from being good, in words; empty where nothing does."""
    rules, done, asked = view.rules, told.days_done or 0, told.days_asked or 0
    if (told.mornings_worse or 0) > rules["summary.mornings"]:
        return f"{_mornings(told)} worse than usual"
    if done < rules["summary.least_done"] or done * 100 < rules["summary.days_percent"] * asked:
        return f"done on {done} of {count_days(asked)}"
    if told.dose not in _good_doses(view, told, stage):
        return DOSE_WORDS[told.dose or ""]
    return "not settled" if told.settled == "no" else ""


def _good_doses(view: View, told: PeriodSummary, stage: Stage) -> tuple[str, ...]:
    """The whole dose; more where no tissue heals; part in a first stage that asks for no class and no dose.

    Ruling 95 names three first stages. Later ones that ask for none allow load, so they keep the whole dose.
    """
    pathway = _pathway(view, told)
    if pathway is None or pathway.clock is not None:
        return ("whole",)
    asked = [c for each in stage.exit for c in (each, *each.parts)]
    named = any(c.load_class or c.sets or c.reps for c in asked)
    return ("whole", "more") if named or stage is not pathway.stages[0] else ("whole", "more", "part")
