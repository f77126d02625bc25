"""A referral put in the store before anybody has seen the patient: who it is, which side, from where."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.entries.build import HEAD
from armrise.store.entries.words import CaseHead
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import CODE_LONGEST, SIDES, Entry
from armrise.store.record.kinds.safety import SCREEN_ITEMS
from armrise.store.record.words import listed
from armrise.tui.forms.first_visit.blocks import age_row, hand_row, side_row
from armrise.tui.forms.first_visit.codes import FIRST_CODE, FIRST_PERSON, next_code
from armrise.tui.forms.kit.asked import longest
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Field, Pick
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan, sentence
from armrise.tui.forms.paged.fields import ProposedLine
from armrise.tui.shell.door import Door
from armrise.tui.words.entries import day, identifying

DAYS_BACK = 366
"""How far back a referral may have come in; an older one is begun with its first visit."""


class RegisterScreen(FormScreen):
    """Registers a case without a visit, with the red flag its letter tells of, in one go."""

    READING = (
        "Registers a referral that waits for its first visit. Nothing clinical is decided here.",
        "The code is the clinic's own, without initials or birthday. The person's code links both sides.",
        "A red flag that the letter tells of puts the case under TODAY at once.",
        *FormScreen.READING,
    )
    DEFAULT_CSS = "RegisterScreen #form { max-height: 48; }"
    heading = "Register a referral"
    write_label = "Register"

    def __init__(self, door: Door, standing: Standing | None = None) -> None:
        super().__init__(door, standing)  # type: ignore[arg-type]

    def head(self) -> str:
        """No case yet."""
        return f"{self.heading}{'   FICTIONAL CASELOAD' if self.door.fictional else ''}"

    def kept_code(self) -> str:
        """Not registered yet."""
        return ""

    def rows(self) -> Iterable[Widget]:
        """Who it is, what is known, and what the letter warns of."""
        pathways = [f"{p.code} {p.name}" for p in self.door.rules.pathways.values()]
        yield ProposedLine("code", key="code", longest=CODE_LONGEST)
        yield ProposedLine("person's code", key="person", longest=longest(HEAD["person"]))
        yield from (side_row(), age_row(), hand_row())
        yield Pick("pathway", pathways, flow=True, key="pathway")
        yield Line("referrer", key="referrer", longest=longest(HEAD["referrer"]), beside="a role or a place")
        yield DayField("registered on", self.door.today, self.door.today, key="day", back=DAYS_BACK)
        flag = Pick("red flag in the letter", SCREEN_ITEMS, flow=True, key="flag")
        flag.blank = "none told"
        yield flag

    def on_mount(self) -> None:
        """There is nothing to read."""
        super().on_mount()
        self.query_one("#code", Line).focus()

    def read(self) -> Any:
        """No case to read, only the codes that are taken."""
        self.record = CaseRecord(code="", person="", side=SIDES[0], pathway="", registered_on=self.door.today)
        self.begin_keeping()
        self.show_plan()
        self.app.run_worker(self._codes, thread=True, group="read")

    def _codes(self) -> None:
        """In a thread: which codes are taken, and what the first writing needs."""
        try:
            heads = self.door.heads()
        except Exception as error:
            self.app.call_from_thread(self.say, sentence(error))
            return
        self.app.call_from_thread(self.propose, heads)
        self.door.warm()

    def propose(self, heads: Sequence[tuple[str, str, str]]) -> None:
        """The next free codes, taken by Enter."""
        code = next_code((code for code, _, _ in heads), FIRST_CODE)
        person = next_code((person for _, person, _ in heads), FIRST_PERSON)
        self.query_one("#code", ProposedLine).propose(code)
        self.query_one("#person", ProposedLine).propose(person, second="for the other shoulder, the same")

    def typing(self) -> None:
        """A referrer that looks like a person's name is warned about, not refused."""
        line = self.query_one("#referrer", Line)
        line.warn(identifying(line.value))

    def given(self, key: str) -> str:
        """What stands in a field."""
        row = self.query_one(f"#{key}")
        return row.value if isinstance(row, Line | Field) else ""

    def plan(self) -> Plan:
        """The case, and what its letter warns of; faults are marked only when it is to be written."""
        needed = ("code", "person", "side", "pathway")
        lacking = {key: f"{key}: needed to register a case." for key in needed if not self.given(key)}
        field = self.query_one("#day", DayField)
        if field.fault:
            lacking["day"] = field.fault
        if lacking:
            return Plan(faults=lacking, nothing="Code, person's code, side and pathway are needed.")
        source = f", from {self.given('referrer')}" if self.given("referrer") else ""
        who = [self.given("age"), f"preferred hand {hand}" if (hand := self.given("dominance")) else ""]
        about = listed(f"{self.given('code')} {self.given('side')}", *who, self.given("pathway"))
        told = [f"{about}{source}"]
        told.append(f"registered {day(field.chosen)}, waiting for a first visit")
        flag = self.given("flag")
        if not flag:
            return Plan([("registration", {})], told)
        values = {"on": field.chosen, "item": flag, "answer": "yes", "source": "referral letter"}
        told.append("(a possible red flag: the case is under TODAY)")
        return Plan([("registration", {}), ("screen", values)], told)

    def entries(self, drafts: Any) -> list[Entry]:
        """The registration is no entry; the rest is."""
        return super().entries([draft for draft in drafts if draft[0] != "registration"])

    def write_now(self, entries: list[Entry]) -> str:
        """The case and its first entries, or neither."""
        head = CaseHead(
            code=self.given("code"),
            person=self.given("person"),
            side=self.given("side"),
            pathway=self.given("pathway").partition(" ")[0],
            registered_on=self.query_one("#day", DayField).chosen,
            age_band=self.given("age") or None,
            dominance=self.given("dominance") or None,
            clinician=self.door.author,
            referrer=self.given("referrer"),
        )
        return self.door.begin(head, entries, confirmed=self.confirmed)
