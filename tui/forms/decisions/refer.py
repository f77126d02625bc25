"""A referral: to whom, how urgent, about what; and what came back of an earlier one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.widget import Widget

from armrise.store.clinic.actions import needs
from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.case.view import View
from armrise.store.record.kinds.head import ANSWERABLE
from armrise.store.record.kinds.paperwork import Referral
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.kit.viewed import ViewForm
from armrise.tui.words.entries import day

URGENCIES = ("same day", "urgent", "soon", "routine")
ABOUT = tuple(about for about in ANSWERABLE if about != "review not needed")
DAYS_BACK = 60


class ReferScreen(ViewForm):
    """Records a referral that was sent, and the answer to the one before."""

    heading = "Refer"
    required: ClassVar[bool] = False
    """True where a referral has to be given, not only an answer."""

    def lead(self) -> str:
        """The verdict, when it asks for a referral, and what still waits for an answer."""
        told: list[str] = []
        verdict = self.standing.verdict
        if verdict.word is Word.REFER:
            told.append(f"Verdict REFER: {verdict.line}")
        waiting = self.waiting()
        if waiting:
            what = f"{waiting.about}, sent to {waiting.to} on {day(waiting.on)}"
            told.append(f"Not answered yet: {what}.")
        return "\n".join(told)

    def waiting(self) -> Referral | None:
        """The oldest referral of the episode that nobody has answered."""
        return next(iter(needs.referrals_waiting(self.view)), None) if self.view else None

    def rows(self) -> Iterable[Widget]:
        """The answer to the one before, then the new one."""
        yield Line("what came back", key="answer", longest=200)
        yield Line("refer to", key="to", longest=60)
        yield Pick("urgency", URGENCIES, flow=True, key="urgency")
        yield Pick("about", ABOUT, flow=True, key="about")
        yield DayField("sent on", self.door.today, self.door.today, key="sent", back=DAYS_BACK)
        yield YesNo("letter gone with it", value="n", key="letter")
        yield YesNo("surgeon told", value="n", key="told")
        yield Line("note", key="note", longest=200)

    def on_mount(self) -> None:
        """An answer is asked only where one is outstanding."""
        super().on_mount()
        self.show("answer", False)
        self.query_one("#to", Line).focus()

    def read_in(self, view: View) -> None:
        """What the verdict asks to be referred about is chosen already."""
        rule = self.standing.verdict.rule
        about = self.query_one("#about", Pick)
        if rule in ABOUT and not about.value:
            about.value = rule
        self.show("answer", bool(self.waiting()) and not self.required)

    def plan_of(self, view: View) -> Plan:
        """The answer, the referral, or both."""
        plan = Plan(nothing="Type what came back, or whom the case is referred to.")
        answer, waiting = self.line("answer"), self.waiting()
        if answer and waiting:
            if len(answer) < needs.SHORTEST:
                return Plan(faults={"answer": f"what came back: at least {needs.SHORTEST} characters."})
            plan.drafts.append(("referral answer", {"about": waiting.about, "answer": answer}))
            plan.words.append(f"answer to the referral about {waiting.about}: {answer}")
        if not (self.line("to") or self.picked("urgency") or self.required):
            return plan
        about, urgency, to = self.picked("about"), self.picked("urgency"), self.line("to")
        asked = needs.refer(view, to, urgency, about, self.on_day("sent"))
        field = self.query_one("#sent", DayField)
        if field.fault:
            asked.faults["sent"] = field.fault
        if not asked.met:
            return self.lacking(asked)
        self.refer(plan)
        return plan

    def refer(self, plan: Plan) -> None:
        """The referral, and the letter when it has gone."""
        values = {name: self.picked(name) for name in ("urgency", "about")}
        sent, note, told = self.on_day("sent"), self.line("note"), bool(self.answered("told"))
        values |= {"to": self.line("to")} | ({"note": note} if note else {})
        plan.drafts.append(("referral", {"on": sent, "surgeon_told": told, **values}))
        said = f"referred to {values['to']}, {values['urgency']}, about {values['about']}, sent {day(sent)}"
        plan.words.append("; ".join(word for word in (said, "surgeon told" if told else "", note) if word))
        if self.answered("letter"):
            plan.drafts.append(("letter", {"on": sent, "about": "referral", "state": "sent"}))
            plan.words.append(f"letter about the referral sent {day(sent)}")
        else:
            plan.words.append("(a referral letter is owed until it is recorded as sent)")
