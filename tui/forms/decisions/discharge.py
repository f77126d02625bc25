"""A discharge: outcome, last measures and score, letter; what blocks it, and what it leaves owed."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal, InvalidOperation

from textual.widget import Widget

from armrise.store.clinic.actions import endings
from armrise.store.clinic.actions.endings import NEUTRAL, NOT_NEEDED, REVIEW_ANSWERS, SEEN
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import slots
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.paperwork import DISCHARGE_OUTCOMES
from armrise.store.record.words import count_days, plain
from armrise.store.rules.pathway import InstrumentSpec
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.viewed import ViewForm
from armrise.tui.words.entries import ago, day

MEASURES = ("recorded", "not obtained")
DAYS_BACK = 60
SCORE_KEYS = "n is not obtained"


class DischargeScreen(ViewForm):
    """Closes an episode by a clinician's decision. Nothing is discharged by itself."""

    heading = "Discharge"
    write_label = "Discharge"

    def lead(self) -> str:
        """What stands in the way, before anything is typed."""
        return "\n".join(before(self.view)) if self.view else ""

    def rows(self) -> Iterable[Widget]:
        """The review first, then how it ended."""
        yield Pick("review", REVIEW_ANSWERS, flow=True, key="review")
        yield DayField("seen on", self.door.today, self.door.today, key="on", back=DAYS_BACK)
        yield Line("why not needed", key="review_reason", longest=200)
        yield Pick("outcome", DISCHARGE_OUTCOMES, flow=True, key="outcome")
        yield Line("safeguarding", key="safeguarding", longest=120)
        yield Pick("last measures", MEASURES, flow=True, key="measures")
        yield Line("score", key="score", longest=12)
        yield YesNo("letter to the referrer", value="y", key="letter")
        yield YesNo("referrer told", key="told")
        yield Line("note", key="note", longest=80)

    def on_mount(self) -> None:
        """Fields that hang on the case are hidden until it is read."""
        super().on_mount()
        for key in ("review", "on", "review_reason", "safeguarding", "told"):
            self.show(key, False)
        self.query_one("#outcome").focus()

    def read_in(self, view: View) -> None:
        """Name the score, and start at the review where one is outstanding."""
        spec = endings.score_asked(view)
        if spec is not None:
            self.name_score(view, spec)
        if endings.review_outstanding(view):
            self.show("review", True)
            self.query_one("#review").focus()

    def name_score(self, view: View, spec: InstrumentSpec) -> None:
        """Which total is asked, its range and direction, and the one that is recent enough to stand."""
        line = self.query_one("#score", Line)
        line.relabel(f"{spec.key} total")
        better = "lower is better" if spec.lower_is_better else "higher is better"
        beside = f"{plain(spec.low)}-{plain(spec.high)}, {better}; {SCORE_KEYS}"
        recent = endings.recent_score(view)
        if recent is not None and isinstance(recent.total, Decimal):
            beside = f"{plain(recent.total)} of {ago(recent.on, view.today)} stands; or type a new one"
        line.say_beside(beside)

    def fit(self, view: View) -> None:
        """Only what this ending asks."""
        outcome = self.picked("outcome")
        died = outcome == "died"
        outstanding = endings.review_outstanding(view) is not None and not died
        self.show("review", outstanding)
        self.show("on", outstanding and self.picked("review") == SEEN)
        self.show("review_reason", outstanding and self.picked("review") == NOT_NEEDED)
        self.show("safeguarding", outcome == "did not attend" and slots.brought_by_others(view))
        self.show("measures", not died)
        self.show("score", not died and endings.score_asked(view) is not None)
        self.show("letter", outcome not in NEUTRAL)
        self.show("told", endings.guarded(view) and not endings.referrer_told(view) and not died)

    def score(self) -> Decimal | Absence | None:
        """The typed total; an absence for "not obtained", None for nothing or what is no number."""
        text = self.line("score")
        if text.lower() == "n":
            return Absence.NOT_MEASURED
        try:
            return Decimal(text) if text else None
        except InvalidOperation:
            return None

    def ask(self) -> endings.DischargeAsk:
        """The discharge as typed."""
        return endings.DischargeAsk(
            outcome=self.picked("outcome"),
            measures=self.picked("measures"),
            review=self.picked("review"),
            seen_on=self.on_day("on"),
            review_reason=self.line("review_reason"),
            score=self.score(),
            referrer_told=bool(self.answered("told")),
            safeguarding=self.line("safeguarding"),
        )

    def plan_of(self, view: View) -> Plan:
        """Everything that is written, in its order, and what remains owed."""
        asked = endings.discharge(view, self.ask())
        text = self.line("score")
        if text and self.score() is None:
            label = self.query_one("#score", Line).label
            asked.faults["score"] = f'{label}: "{text}" is no number; type the total, or {SCORE_KEYS}.'
        if asked.refused:
            return Plan(refused=asked.refused)
        if not asked.met:
            return self.lacking(asked)
        plan = Plan()
        for draft, words in (*self.review_drafts(), *self.score_drafts(), self.ending()):
            plan.drafts.append(draft)
            plan.words.append(words)
        plan.words += [f"({line})" for line in self.owed()]
        return plan

    def review_drafts(self) -> Iterable[tuple[Draft, str]]:
        """The answer to an outstanding review."""
        answer = self.picked("review")
        if answer == SEEN:
            on = self.on_day("on")
            yield ("visit", {"on": on}), f"visit of {day(on)}, the review that was outstanding"
        elif answer == NOT_NEEDED:
            reason = self.line("review_reason")
            yield ("decision", {"about": "review not needed", "note": reason}), f"review not needed: {reason}"

    def score_drafts(self) -> Iterable[tuple[Draft, str]]:
        """The last outcome score, or that it was not obtained."""
        spec, total = endings.score_asked(self.view) if self.view else None, self.score()
        if spec is None or total is None or not self.query_one("#score").display:
            return
        told = "not obtained" if isinstance(total, Absence) else plain(total)
        yield ("score", {"instrument": spec.key, "total": total}), f"{spec.key} at discharge: {told}"

    def ending(self) -> tuple[Draft, str]:
        """The discharge itself."""
        outcome, measures = self.picked("outcome"), self.picked("measures") or "not obtained"
        letter = bool(self.answered("letter"))
        told = "referrer told" if self.answered("told") else ""
        thought = self.line("safeguarding")
        safe = f"safeguarding: {thought}" if thought else ""
        note = "; ".join(part for part in (told, safe, self.line("note")) if part)
        values = {"outcome": outcome, "measures": measures, "letter": letter}
        said = [f"discharged {day(self.door.today)}: {outcome}", f"last measures {measures}", note]
        draft: Draft = ("discharge", {**values, "note": note} if note else values)
        return draft, "; ".join(part for part in said if part)

    def owed(self) -> list[str]:
        """What remains after it, or why nothing does."""
        outcome = self.picked("outcome")
        if outcome in NEUTRAL:
            return ["nothing is owed: prompts stop and letters are suppressed"]
        if self.answered("letter"):
            return ["owed: a discharge letter, until it is recorded as sent"]
        return ["nothing is owed: no letter"]


def before(view: View) -> list[str]:
    """What a clinician should know before discharging: what is guarded here, and what has been tried."""
    told: list[str] = []
    if endings.guarded(view):
        stage = view.stage.code if view.stage else ""
        days = view.rules["discharge.protected_attempts"]
        told.append(
            f"Protected stage {stage}: try contact on {count_days(days)} and tell the referrer first."
        )
    misses = endings.unanswered_misses(view)
    if misses:
        told.append(misses)
    if slots.brought_by_others(view):
        told.append(slots.SAFEGUARDING)
    return told
