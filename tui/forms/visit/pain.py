"""The pain triple inside another form: exercised or not, during, later, next morning, nights woken."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from textual.widget import Widget

from armrise.store.clinic.case.view import View
from armrise.store.record.fields import Absence
from armrise.tui.forms.kit.fields import Score, YesNo
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.forms.visit.checkin_plan import Known, Typed, known, make, one_nought, pain_beside
from armrise.tui.words.entries import day

NIGHTS = 7
TRIPLE = {"during": "pain during", "later": "pain later that day", "morning": "pain next morning"}


class PainAsked(RecordForm):
    """Asks the triple of the day before :meth:`pain_day`; who has not exercised tells the morning alone."""

    def pain_day(self) -> date:
        """The morning asked about: the exercises are those of the day before."""
        return self.door.today

    def pain_rows(self) -> Iterable[Widget]:
        """Exercised or not, and the triple."""
        yield YesNo("exercised?", key="exercised")
        for key, label in TRIPLE.items():
            yield Score(label, key=key)

    def nights_row(self) -> Widget:
        """Nights woken: asked last, because it may be left out."""
        return Score("nights woken, of last 7", high=NIGHTS, beside="may be left out", key="waking")

    def fit_pain(self, view: View, *, asked: bool) -> None:
        """Which of these are asked now."""
        exercised = self.query_one("#exercised", YesNo)
        about = self.about(view)
        exercised.beside = f"on {day(about.on, year=False)}"
        for key in ("exercised", "morning", "waking"):
            self.show(key, asked)
        for key in ("during", "later"):
            self.show(key, asked and exercised.value != "n" and not about.sessions)
        exercised.can_focus = not about.sessions
        exercised.blank = "on record" if about.sessions else "not asked"
        for key, words in pain_beside(about, view, self.standing.pain.baseline).items():
            self.query_one(f"#{key}", Score).beside = words
        if ten := one_nought(self.told("during"), self.told("later")):
            self.query_one("#later", Score).beside = ten
        self.show("morning", asked and about.morning_open)

    def about(self, view: View) -> Known:
        """What is on record of the day before."""
        return known(view.record, self.pain_day() - timedelta(days=1), view.today)

    def pain_lacking(self) -> dict[str, str]:
        """What is not answered of what is asked: a number, or d for declined."""
        lacking: dict[str, str] = {}
        field = self.query_one("#exercised", YesNo)
        if field.display and not field.value and not (self.view and self.about(self.view).sessions):
            lacking["exercised"] = "exercised?: answer y or n; after n only the morning is asked."
        for key, label in TRIPLE.items():
            score = self.query_one(f"#{key}", Score)
            if score.display and score.answer is Absence.NOT_ASKED:
                lacking[key] = f"{label}: 0 to 9, x for 10, or d for declined."
        return lacking

    def told(self, key: str) -> int | Absence:
        """A score, where it is asked."""
        field = self.query_one(f"#{key}", Score)
        return field.answer if field.display else Absence.NOT_ASKED

    def pain(self, view: View) -> Plan:
        """The session, or the morning alone, and the nights; nothing where none is asked."""
        during, later, morning, waking = (self.told(name) for name in (*TRIPLE, "waking"))
        return make(Typed(during, later, morning, waking), self.about(view), self.door.rules)
