"""The first visit: ten blocks in one flow, proposals where there can be any, written in one transaction."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import ClassVar

from textual import work
from textual.binding import Binding, BindingType
from textual.widget import Widget

from armrise.store.clinic.actions import placing
from armrise.store.clinic.actions.suppose import added
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.irritability import cut_mark, propose
from armrise.store.clinic.scores.scale import direction
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.safety import UNDER_18, asked_of
from armrise.store.rules.exercise import Exercise
from armrise.store.rules.pathway import Pathway
from armrise.tui.forms.first_visit import blocks as blocks
from armrise.tui.forms.first_visit import ending, patient
from armrise.tui.forms.first_visit import plan as plans
from armrise.tui.forms.first_visit.codes import FIRST_CODE, FIRST_PERSON, next_code
from armrise.tui.forms.first_visit.list_seen import ScreenSeen
from armrise.tui.forms.first_visit.mechanism import mechanism
from armrise.tui.forms.kit.plan import Plan, sentence
from armrise.tui.forms.measures.activity import name_activities
from armrise.tui.forms.measures.given import Given, given_in
from armrise.tui.forms.measures.plan import DYNAMOMETER, measured
from armrise.tui.forms.measures.range_line_case import ACTIVE, PASSIVE, STRENGTH, asked_for
from armrise.tui.forms.red_flags.rows import FlagRow
from armrise.tui.shell.closing import proposed_slot
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static

NEW = "new case"
RANGES = {"active": ACTIVE, "passive": PASSIVE, "strength": STRENGTH}
BARRED = "x x"
"""What stands in the strength line while healing forbids testing: prohibited, which is not "not measured"."""


class FirstVisitScreen(ScreenSeen):
    """The first visit of a case that waits for one, or of a new case when ``standing`` is None."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "patient", "Change what the registration told", show=False, id="first_visit.patient"),
    ]
    heading = "First visit"
    titles = blocks.TITLES
    write_label = "Write the first visit"
    whole = "Whole visit"

    def __init__(self, door: Door, standing: Standing | None = None) -> None:
        super().__init__(door, standing)  # type: ignore[arg-type]
        self.fresh = standing is None
        self.changing = self.fresh
        """True where age, hand and referrer are asked although they are known."""
        if not self.fresh:
            self.keys = "F2 write all   F3 patient   PgDn PgUp blocks   Esc leave, nothing written"
        self.heads: list[tuple[str, str, str]] = []
        self.offered: tuple[Exercise, ...] = ()

    @classmethod
    def again(cls, door: Door, standing: Standing | None, about: str) -> FirstVisitScreen:
        """The form anew, for what was left unwritten in it."""
        return cls(door, standing)

    def kept_code(self) -> str:
        """The case whose draft this is; a new case has no code of its own yet."""
        return "" if self.fresh else super().kept_code()

    # frame

    def head(self) -> str:
        """Code and side as far as they are chosen."""
        if not self.fresh:
            return super().head()
        told = "   FICTIONAL CASELOAD" if self.door.fictional else ""
        chosen = " ".join(word for word in (self.given_text("code"), self.side()) if word)
        return f"{self.heading}   {chosen or NEW}{told}"

    def blocks(self) -> Sequence[Sequence[Widget]]:
        """The ten blocks."""
        rules, today = self.door.rules, self.door.today
        return (
            blocks.identity(known=not self.fresh),
            blocks.red_flags(rules),
            blocks.mechanism(today),
            blocks.irritability(),
            blocks.ranges(rules),
            blocks.strength(rules),
            blocks.neck(),
            blocks.outcome(rules),
            blocks.background(today),
            blocks.decision(rules, today),
        )

    def on_mount(self) -> None:
        """Hide what hangs on an answer."""
        super().on_mount()
        self.fit()

    @work(thread=True, group="read")
    def read(self) -> None:
        """Fetch the case, or the codes that are taken."""
        try:
            if self.fresh:
                self.app.call_from_thread(self.begin, self.door.heads())
            else:
                self.app.call_from_thread(self._arrive, self.door.open(self.standing.code))
        except Exception as error:
            self.app.call_from_thread(self.say, sentence(error))
            return
        self.door.warm()

    def begin(self, heads: list[tuple[str, str, str]]) -> None:
        """Propose the next free code and person."""
        self.heads = heads
        code = next_code((code for code, _, _ in heads), FIRST_CODE)
        person = next_code((person for _, person, _ in heads), FIRST_PERSON)
        self.row("code").propose(code)
        self.row("person").propose(person)
        self.record = self.empty_record()
        self.begin_keeping()
        self.fit()
        self.show_plan()

    def arrived(self, record: CaseRecord) -> None:
        """Say what is known of a case that was registered before; only what is missing is asked."""
        self.query_one("#known", Static).update(patient.known_words(record, self.door.rules))
        for key, told in patient.told_before(record).items():
            row = self.row(key)
            row.value = row.value or told
        name_activities(self, record)
        self.fit()

    def action_patient(self) -> None:
        """Ask anew what the registration told: it may be put right until the first visit is written."""
        if not self.fresh and self.record is not None:
            self.changing = True
            self.fit()
            self.go(0)
            self.row("age").focus()

    # what is typed

    def given_text(self, key: str) -> str:
        """What stands in a field, empty where the form has no such field."""
        row = self.named().get(key)
        return row.value.strip() if row and row.is_mounted else ""

    def side(self) -> str:
        """The affected side in words."""
        return self.given_text("side") if self.fresh else self.standing.side

    def age(self) -> str:
        """The age band, of a new case as it is chosen."""
        return self.given_text("age") or ("" if self.fresh else super().age())

    def minor(self) -> bool:
        """True for a patient under 18."""
        return self.age() in UNDER_18

    def typed_now(self) -> Given:
        """Every field, with the side that is chosen."""
        return given_in(self, {"LEFT": "RIGHT", "RIGHT": "LEFT"}.get(self.side(), ""))

    def empty_record(self) -> CaseRecord:
        """The case as far as its head is typed."""
        person = self.given_text("person")
        side = self.side() or "LEFT"
        kin = [code for code, of, other in self.heads if of == person and other != side]
        return CaseRecord(
            code=self.given_text("code") or NEW,
            person=person,
            side=side,
            pathway=next(iter(self.door.rules.pathways)),
            registered_on=self.door.today,
            age_band=self.given_text("age") or None,
            dominance=self.given_text("dominance") or None,
            linked=tuple(kin),
        )

    def view(self, parts: Sequence[Plan]) -> View:
        """The case as it would be with what is typed."""
        record = self.empty_record() if self.fresh else self.record or self.empty_record()
        drafts = [draft for part in parts for draft in part.drafts]
        record = added(record, [self.door.draft(kind, **values) for kind, values in drafts])
        return View.of(record, self.door.rules, self.door.today)

    # proposals

    def typing(self) -> None:
        """What is proposed hangs on what is typed."""
        self.fit()

    def opened(self) -> None:
        """Proposals of the block in sight."""
        super().opened()
        self.fit()

    def fit(self) -> None:
        """Show the questions that belong here, and propose what follows from the answers."""
        if not self.is_mounted or self.record is None:
            return
        given = self.typed_now()
        self.fit_questions(given)
        self.row("level").propose(*self.level(given))
        self.query_one("#form-head", Static).update(self.head())
        self.fit_lines()
        if self.at >= self.titles.index("strength"):
            self.fit_decision(self.view(self.findings(given)))

    def fit_questions(self, given: Given) -> None:
        """Questions of another mechanism, and of minors, are not shown."""
        for key, onsets in blocks.OF_ONSET.items():
            self.row(key).display = given["onset"] in onsets
        self.row("guardian").display = self.minor()
        known = patient.told_before(self.record) if self.record else {}
        for key in patient.FIELDS:
            self.row(key).display = self.changing or not known.get(key)
        asked = asked_of(self.age())
        for row in self.walk_children(FlagRow):
            row.display = row.label in asked
        if self.fresh:
            kin = [f"{code} {side}" for code, person, side in self.heads if person == given["person"]]
            said = f"  The same person as {', '.join(kin)}: the two sides are linked." if kin else ""
            self.query_one("#kin", Static).update(said)

    def level(self, given: Given) -> tuple[str, str]:
        """The irritability proposed, and from what."""
        rows = plans.rows(given)
        found = propose(rows)
        if found.level is None:
            return "", f"{len(rows.known)} of 4 rows known, two are needed"
        mixed = ", mixed" if found.mixed else ""
        cut = cut_mark(rows, self.door.rules)
        return found.level, f"{found.level}{mixed}, from {len(rows.known)} of 4 rows{cut}"

    def fit_lines(self) -> None:
        """Sides in words on the lines."""
        record = self.empty_record() if self.fresh else self.record
        sides = ("", "") if not self.side() or record is None else (record.side, record.other_side)
        for key, names in RANGES.items():
            line = self.row(key)
            if line.sides != sides:
                line.fit(asked_for(names, self.door.rules, record), sides)

    def fit_decision(self, view: View) -> None:
        """Pathway, stage, score, interval and next date."""
        rules = self.door.rules
        told = "" if self.fresh else patient.registered_for(view.record, self.given_text("onset"), rules)
        found = placing.propose_pathway(view, told)
        chosen = self.row("pathway")
        chosen.propose(found.pathway or "", found.because)
        likely = self.pathway() or rules.pathways.get(found.pathway or "")
        consider = [
            *found.consider,
            *(["adult thresholds: a minor's shoulder differs"] if self.minor() else []),
        ]
        self.tell_if("consider", "\n".join(f"  {line}" for line in consider))
        self.fit_strength(view, likely)
        self.fit_score(likely)
        self.fit_stage(view, self.pathway())
        self.query_one("#left-open", Static).update(self.left_open())

    def pathway(self) -> Pathway | None:
        """The pathway that was chosen."""
        return self.door.rules.pathways.get(self.row("pathway").code)

    def fit_strength(self, view: View, likely: Pathway | None) -> None:
        """Where healing forbids testing the line says prohibited, and why."""
        line, barred = self.row("strength"), placing.strength_barred(view, likely)
        self.tell_if("barred", f"  {barred}" if barred else "")
        if barred and not line.value:
            line.input.value = BARRED
        elif not barred and line.value == BARRED:
            line.input.value = ""

    def fit_score(self, likely: Pathway | None) -> None:
        """The score of the pathway is proposed; its range and direction stand beside the total."""
        instrument = self.row("instrument")
        instrument.propose(likely.score if likely else "", f"of {likely.code}" if likely else "")
        spec = self.door.rules.instruments.get(instrument.code)
        if spec:
            total = self.row("total")
            total.low, total.high = spec.low, spec.high
            total.say_beside(f"{spec.low} to {spec.high}, {direction(spec)}")

    def fit_stage(self, view: View, pathway: Pathway | None) -> None:
        """Stages of the chosen pathway, with the one proposed, and the interval of the one chosen."""
        stage, interval = self.row("stage"), self.row("interval")
        following = self.row("next")
        if pathway is None:
            return
        stage.offer([f"{s.code} {s.name}" for s in pathway.stages])
        found = placing.propose_stage(view, pathway)
        shut = placing.shut_words(view, chosen) if (chosen := pathway.stage(stage.code)) else ""
        stage.propose(found.stage or "", found.because)
        if shut:
            stage.beside = f"HEALING: {shut}"
        self.fit_programme(view)
        if chosen is None:
            return
        days = str(placing.interval_of(view, chosen))
        interval.propose(days, f"Enter: {days}, usual in {chosen.code}")
        wanted = interval.value if interval.value.isdecimal() else days
        when = self.door.today + timedelta(days=int(wanted))
        following.propose(*proposed_slot(self, when))

    def fit_programme(self, view: View) -> None:
        """The exercises to begin with, for the stage that is chosen."""
        code = self.row("stage").code
        self.offered = ()
        if code:
            step = self.door.draft("step", stage=code, direction="placing")
            placed = View.of(added(view.record, [step]), self.door.rules, self.door.today)
            self.offered = placing.programme(placed)
        said = ending.template_words(self.offered)
        self.tell_if("template", f"  to begin with: {said}" if said else "")
        self.row("programme").display = bool(said)

    def left_open(self) -> str:
        """Blocks that would write nothing: what stays unknown. Of the identity that is the consent."""
        parts = zip(("consent", *self.titles[1:-1]), self.parts(), strict=False)
        empty = [title for title, part in parts if not part.drafts]
        return f"  Left open: {', '.join(empty)}." if empty else "  Every block has something in it."

    # writing

    def findings(self, given: Given) -> list[Plan]:
        """Every block but the decision."""
        began = given.when("onset-day", "when")[0]
        starts = min(began, self.door.today) if began else self.door.today
        return [
            plans.consent(given),
            plans.flags(given, self.age()),
            mechanism(given),
            plans.irritable(given),
            plans.ranges(given),
            measured(given, ("strength",), DYNAMOMETER),
            plans.neck(given),
            plans.outcome(given),
            plans.background(given, starts),
        ]

    def parts(self) -> Sequence[Plan]:
        """What each block would write."""
        if self.record is None:
            return [Plan(nothing="Reading ...")]
        given = self.typed_now()
        first, *rest = self.findings(given)
        return [self.identity(first, given), *rest, self.decision(given)]

    def identity(self, plan: Plan, given: Given) -> Plan:
        """The head of a new case; faults where it lacks something."""
        if not self.fresh:
            plan.drafts += patient.details(given, self.record) if self.record else []
            return plan
        for key in ("code", "person", "side"):
            if not given[key]:
                plan.faults[key] = f"{key}: needed for a new case."
        if given["code"] in {code for code, _, _ in self.heads}:
            plan.faults["code"] = f'code: "{given["code"]}" is taken.'
        told = [given[key] for key in ("code", "side", "age", "referrer") if given[key]]
        plan.then.insert(0, f"{', '.join(told)} registered today" if told else "nothing of the new case yet")
        return plan

    def decision(self, given: Given) -> Plan:
        """The visit and the placing, and today's slot as attended."""
        plan = ending.decision(given, self.pathway(), minor=self.minor())
        if given["programme"] == "yes":
            plan.drafts += ending.programme(self.offered)
        if self.record is not None and not plan.faults:
            plan.drafts += ending.attended(self.record, self.door.today)
        return plan

    def write_now(self, entries: list[Entry]) -> str:
        """A new case with its entries, or the entries of one that waited: together, or not at all."""
        pathway = self.pathway()
        assert pathway is not None
        code = self.given_text("code") if self.fresh else self.standing.code
        stage = self.row("stage").code
        said = f"{code} {self.side()}: first visit written, placed in {stage}, {len(entries)} entries."
        if self.fresh:
            head = patient.head(self.typed_now(), pathway.code)
            self.door.begin(head, entries, confirmed=self.confirmed)
        else:
            super().write_now(entries)
        return said
