"""A step forward or back, or staying: the criteria, what it needs, and exactly what will be written."""

from __future__ import annotations

from collections.abc import Iterable
from textwrap import fill
from typing import ClassVar

from rich.text import Text
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widget import Widget

from armrise.store.clinic.case.standing import CriterionResult, Standing, Truth, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.words import verdict_told
from armrise.store.clinic.verdict.messages import unanswered
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.care import SPOKEN, Contact
from armrise.store.record.kinds.programme import ProgrammeItem, stated
from armrise.tui.forms.decisions.step_plan import BACK, FORWARD, STAY, STAYABLE, Move, look, verdict_words
from armrise.tui.forms.kit.asked import override_fields
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.effect import standing_with
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.kept import Fields
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.red_flags.news import AnythingNew, AsksNews
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import identifying
from armrise.tui.words.standing import asked_and_seen

HEADINGS = {FORWARD: "Step forward", BACK: "Step back", STAY: "Stay, with reason"}
STATES = {Truth.MET: "met", Truth.NOT_MET: "NOT MET", Truth.UNKNOWN: "UNKNOWN"}


def folded(line: str, width: int, indent: str) -> str:
    """A line under a criterion, folded to ``width``."""
    return fill(line, width, initial_indent=indent + " " * 8, subsequent_indent=indent + " " * 10)


class StepScreen(AsksNews):
    """Steps a case, or keeps it where it is against the verdict. The step is always the clinician's."""

    READING = (
        "The criteria of the verdict, then what will be written. The step is always the clinician's.",
        "Against the verdict a category and a reason are asked; past a hard stop the case code is typed.",
        "The one question is asked where nobody asked it today; its answer is written as a contact.",
        "F4 records that the case stays although the verdict says otherwise.",
        *FormScreen.READING,
    )
    DEFAULT_CSS = """
    StepScreen #form { max-height: 48; }
    StepScreen #step-asks { height: auto; max-height: 40%; scrollbar-size-vertical: 1; }
    StepScreen.-short #step-asks { max-height: 100%; }
    """
    write_label = "Write this"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "stay", "Stay, with reason", id="step.stay"),
        Binding("y", "write", "Confirm", show=False, id="step.confirm"),
    ]

    def __init__(self, door: Door, standing: Standing, direction: str = FORWARD) -> None:
        super().__init__(door, standing)
        self.direction = self.began = direction
        self.move = Move(direction)
        self.judged = standing
        """The standing with the answer to the one question written."""
        self.heard: list[Draft] = []

    @classmethod
    def again(cls, door: Door, standing: Standing, about: str) -> StepScreen:
        """The same direction."""
        return cls(door, standing, about or FORWARD)

    def kept_as(self) -> str:
        """Forward and back are forms of their own."""
        return f"{type(self).__name__}:{self.began}"

    def more_kept(self) -> Fields:
        """Whether it was turned to staying."""
        return {**super().more_kept(), "direction": self.direction}

    def more_back(self, fields: Fields) -> None:
        """Turn to staying again, where that is still a decision; the answers of the list."""
        super().more_back(fields)
        if fields.get("direction") == STAY:
            self.action_stay()

    @property
    def heading(self) -> str:  # type: ignore[override]
        """What kind of step."""
        return HEADINGS[self.direction]

    @property
    def keys(self) -> str:  # type: ignore[override]
        """The keys of the form; y confirms only while no text is being typed."""
        confirm = "F2 write" if self.move.overrides or self.asks_news() else "y or F2 write"
        stay = "   F4 stay instead" if self.may_stay() else ""
        return f"{confirm}{stay}   PgUp PgDn criteria   Esc leave, nothing written   F8 blank"

    def may_stay(self) -> bool:
        """True where staying is a decision of its own."""
        return self.direction != STAY and self.standing.verdict.word in STAYABLE

    def lead(self) -> str:
        """The verdict, its first line, and the days."""
        s, v = self.standing, self.judged.verdict
        days = f"day {s.days_in_stage} in stage" if s.days_in_stage is not None else "not placed"
        usual = f", usual {s.usual_days}" if s.usual_days else ""
        told = f"no verdict: {v.line}" if v.word is Word.NONE else verdict_told(v)
        return f"{told}\n{days}{usual}"

    def rows(self) -> Iterable[Widget]:
        """Blocks, then criteria, then cautions."""
        yield Static(self.criteria(), id="criteria")

    def below(self) -> Iterable[Widget]:
        """The one question, then what an override needs; hidden where they are not asked."""
        with VerticalScroll(id="step-asks", can_focus=False):
            yield AnythingNew()
            yield from override_fields(self.door.today)

    def on_mount(self) -> None:
        """Nothing is asked until the case has been read."""
        super().on_mount()
        self.fit()

    def arrived(self, record: CaseRecord) -> None:
        """Work out what the step needs."""
        self.work_out()
        self.begin()

    def work_out(self) -> None:
        """Look at the step in the present direction, with what is answered to the one question."""
        if self.record is None:
            return
        told = self.told()
        self.judged = self.standing
        if told:
            entries = self.entries(told)
            self.judged = standing_with(self.record, self.door.rules, self.standing, entries)
        self.move = look(self.judged, self.record, self.door.rules, self.door.today, self.direction)
        self.query_one("#criteria", Static).update(self.criteria())
        self.query_one("#form-lead", Static).update(self.lead())
        self.fit()

    def asks_news(self) -> bool:
        """True where a step is taken and nobody asked the one question today.

        Not while a message waits: the contact that holds the answer would answer a message nobody has read.
        """
        if self.record is None or self.direction == STAY or self.move.refused:
            return False
        if unanswered(View.of(self.record, self.door.rules, self.door.today)):
            return False
        today = (e for e in (*self.record.visits, *self.record.contacts) if e.on == self.door.today)
        return all(entry.anything_new == "not asked" for entry in today)

    def told(self) -> list[Draft]:
        """The contact in which the question was answered, and the answers of the list."""
        news = self.news()
        return (
            [(Contact.KIND, {"outcome": SPOKEN[0], "anything_new": news}), *self.flags]
            if news != "not asked"
            else []
        )

    def fit(self) -> None:
        """Show the fields the step needs."""
        move = self.move
        self.new.display = self.asks_news()
        said = dict.fromkeys((*move.overrides, *move.typed_code))
        needs = "\n".join(words for words in said if words != verdict_words(self.judged.verdict.word))
        self.query_one("#needs", Static).update(needs)
        self.query_one("#needs").display = bool(needs)
        for key in ("category", "reason"):
            self.query_one(f"#{key}").display = bool(move.overrides)
        self.query_one("#code").display = bool(move.typed_code)
        self.query_one("#form-head", Static).update(self.head())
        self.hints()

    def begin(self) -> None:
        """Go to the first field that is asked."""
        first = "#new" if self.asks_news() else "#category" if self.move.overrides else "#write"
        self.query_one(first).focus()

    def criteria(self) -> Text:
        """Every block and criterion: state, needed, observed, when, source."""
        verdict = self.judged.verdict
        text = Text()
        for result in (*verdict.blocks, *verdict.criteria):
            self.criterion(text, result, "")
        for caution in verdict.cautions:
            text.append(f"caution: {caution}\n")
        if not text:
            text.append("no criteria: there is no verdict to open\n")
        text.append(fill(f"The verdict {verdict.not_considered}.", self.criterion_width()), "dim")
        return text

    def on_resize(self) -> None:
        """Fold the criteria to the room there is."""
        self.query_one("#criteria", Static).update(self.criteria())

    def criterion(self, text: Text, result: CriterionResult, indent: str) -> None:
        """One criterion with what was seen of it and its source, its parts indented under it."""
        state = STATES[result.state]
        text.append(f"{indent}{state:<8}", "" if result.state is Truth.MET else "bold")
        text.append(fill(result.text, self.criterion_width() - 8, subsequent_indent=indent + " " * 8) + "\n")
        told = "" if result.parts else "; ".join(asked_and_seen(result, self.door.today))
        source = result.source if result.source == result.status else f"{result.source} ({result.status})"
        for line in filter(None, (told, f"source: {source}")):
            text.append(folded(line, self.criterion_width(), indent) + "\n", "dim")
        for part in result.parts:
            self.criterion(text, part, indent + "  ")

    def criterion_width(self) -> int:
        """Width of a line of the criteria."""
        return max(40, min(self.app.size.width, 100) - 6)

    def typing(self) -> None:
        """The verdict follows the one question; warn of names in the reason."""
        self.drop_untold()
        if self.record is not None and self.told() != self.heard:
            self.heard = self.told()
            self.work_out()
        line = self.query_one("#reason", Line)
        line.warn(identifying(line.value))

    def plan(self) -> Plan:
        """The step or the override; faults are marked only when it is to be written."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        if self.move.refused:
            return Plan(refused=self.move.refused)
        faults = self.faults()
        draft = self.stay_draft() if self.direction == STAY else self.step_draft()
        return Plan([*self.told(), draft, *self.stops()], [self.moved(), *self.rungs()], faults)

    def stops(self) -> list[Draft]:
        """The exercises that the stage stepped back to does not allow, taken out in the same action."""
        return [(ProgrammeItem.KIND, stated(stopped.item)) for stopped in self.move.stops]

    def rungs(self) -> list[str]:
        """The rungs a step forward opens, or what stops and how far its ladder goes."""
        opens = [f"(opens: {'; '.join(self.move.opens)})"] if self.move.opens else []
        return opens + [f"({stopped.words})" for stopped in self.move.stops]

    def moved(self) -> str:
        """From where to where, and by whom."""
        s, target = self.standing, self.move.target
        here = f"{s.stage} {s.stage_name}"
        said = f"{here} -> {target.code} {target.name}" if target else f"{here} stays"
        return f"({said}, by {self.door.author})"

    def override(self) -> dict[str, str]:
        """Category and reason as typed."""
        return {
            "category": self.query_one("#category", Pick).value,
            "reason": self.query_one("#reason", Line).value,
        }

    def step_draft(self) -> tuple[str, dict[str, object]]:
        """The step, with the verdict it was taken on."""
        assert self.move.target is not None
        values: dict[str, object] = {
            "stage": self.move.target.code,
            "direction": self.direction,
            "verdict": self.judged.verdict.word.value,
            "rules": self.door.rules.stamp,
        }
        if self.move.overrides:
            values |= {f"override_{name}": value for name, value in self.override().items()}
        return ("step", values)

    def stay_draft(self) -> tuple[str, dict[str, object]]:
        """The decision to stay."""
        against, rules = self.standing.verdict.word.value, self.door.rules.stamp
        return ("override", {"against": against, "rules": rules, **self.override()})

    def faults(self) -> dict[str, str]:
        """What an override still lacks."""
        if not self.move.overrides:
            return {}
        faults: dict[str, str] = {}
        shortest = self.door.rules["step.override_shortest"]
        override = self.override()
        if not override["category"]:
            faults["category"] = f"category: choose {self.query_one('#category', Pick).keys}."
        if len(override["reason"]) < shortest:
            faults["reason"] = f"reason: at least {shortest} characters, {len(override['reason'])} typed."
        if self.move.typed_code and self.query_one("#code", Line).value.upper() != self.standing.code.upper():
            faults["code"] = f"code: type {self.standing.code} to go past this."
        return faults

    def action_stay(self) -> None:
        """Turn to staying, with a reason."""
        if self.may_stay() and not self.busy:
            self.direction = STAY
            self.work_out()
            self.begin()
            self.show_plan()
