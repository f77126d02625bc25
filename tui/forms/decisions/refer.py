"""A referral: to whom, how urgent, about what; and what came back of an earlier one."""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.clinic.actions import needs
from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.draft import as_sent
from armrise.store.record.fields import Flag
from armrise.store.record.kinds.paperwork import Letter, Referral, ReferralAnswer
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.words.entries import day


class ReferScreen(RecordForm):
    """Records a referral that was sent, and the answer to the one before."""

    heading = "Refer"
    required = False
    """True where a referral has to be given, not only an answer."""
    kind = Referral
    asks = (
        Ask("answer", "what came back", of=ReferralAnswer, later=True),
        Ask("to", "refer to"),
        Ask("urgency"),
        Ask("about", without=("review not needed",)),
        Ask("on", "sent on", key="sent", back=60),
        Ask("letter", "letter gone with it", rule=Flag(), value="n"),
        Ask("surgeon_told", key="told", value="n"),
        Ask("note"),
    )

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

    def read_in(self, view: View) -> None:
        """An answer is asked only where one is outstanding; what the verdict refers about is chosen."""
        about = self.query_one("#about", Pick)
        if self.standing.verdict.rule in about.options and not about.value:
            about.value = self.standing.verdict.rule
        self.show("answer", bool(self.waiting()) and not self.required)

    def plan_of(self, view: View) -> Plan:
        """The answer, the referral, or both."""
        answer = self.stated(ReferralAnswer)
        if answer and (short := self.lacks().get("answer")):
            return Plan(faults={"answer": short})
        if not self.referring():
            return Plan(self.drafts(view), nothing="Type what came back, or whom the case is referred to.")
        return super().plan_of(view)

    def referring(self) -> bool:
        """True once a referral is typed, not only an answer."""
        return bool(self.line("to") or self.picked("urgency") or self.required)

    def checked(self, view: View) -> needs.Needs:
        """To whom, how urgent, about what, and the date it was sent."""
        return needs.refer(
            view, self.line("to"), self.picked("urgency"), self.picked("about"), self.on_day("sent")
        )

    def drafts(self, view: View) -> list[Draft]:
        """What came back; the referral, and the letter when it has gone."""
        sent, drafts = self.on_day("sent"), list[Draft]()
        answer, waiting = self.stated(ReferralAnswer), self.waiting()
        if answer and waiting:
            drafts.append((ReferralAnswer.KIND, {"about": waiting.about, **answer}))
        if self.referring():
            drafts.append((Referral.KIND, self.stated()))
            if self.answered("letter"):
                drafts.append((Letter.KIND, {"on": sent, **as_sent(view, "referral")}))
        return drafts

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """The letter that is owed where none has gone."""
        gone = self.answered("letter") or not self.referring()
        return [] if gone else ["(a referral letter is owed until it is recorded as sent)"]
