"""The general form of one kind of entry: made from its record type, asked anew whenever a field changes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from typing import Any, ClassVar

from textual.widget import Widget

from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.actions.suppose import added
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.ordered import Change, changes
from armrise.store.entries.values import RefusalError, number_of
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import ClockTime, Day, Number, Rule, Whole, Words
from armrise.store.record.kinds.head import Entry
from armrise.store.record.words import joined
from armrise.tui.forms.kit.asked import Ask, field_for
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.effect import effect, standing_with
from armrise.tui.forms.kit.fields import Field, Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.shell.closing import closing_of
from armrise.tui.widgets.pane import compact
from armrise.tui.widgets.pieces import Beneath, Piece
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import ago, day, identifying, read_day, read_time


class RecordForm(FormScreen):
    """Asks the fields of ``kind`` that ``asks`` names, in that order, over the case on the clinic date.

    A form says what is its own: what is asked when (:meth:`fit`), what it proposes, what is lacking beyond
    the rules of the record (:meth:`checked`), and what follows from what it writes (:meth:`follows`).
    """

    kind: ClassVar[type[Entry]] = Entry
    asks: ClassVar[tuple[Ask, ...]] = ()
    view: View | None = None

    # what each form says for itself

    def asked(self) -> Sequence[Ask]:
        """The fields, where they hang on the case."""
        return self.asks

    def proposal(self, ask: Ask) -> str:
        """What a field begins with."""
        return ask.value

    def known(self, view: View) -> list[str]:
        """What is on record already and has to be seen above the fields."""
        return []

    def read_in(self, view: View) -> None:
        """Fill in what hangs on the case."""

    def fit(self, view: View) -> None:
        """Show the fields that are asked now."""

    def checked(self, view: View) -> Needs:
        """What is still lacking, or why it cannot be written at all."""
        return Needs(faults=self.lacks())

    def drafts(self, view: View) -> list[Draft]:
        """What is written."""
        return [(self.kind.KIND, self.stated())]

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What follows from it and is no entry."""
        return self.effect_of(drafts)

    # frame

    def rows(self) -> Iterable[Widget]:
        """What is on record, then the fields."""
        yield Static("", id="known", markup=False)
        for ask in self.asked():
            yield field_for(ask, self.kind, self.door.today, self.proposal(ask))

    def beneath(self) -> Iterable[Widget]:
        """The five seconds of the case, as far as there is room."""
        yield Beneath(id="form-beneath")

    def facts(self) -> list[Piece]:
        """Limits first, why the case is on the list, pain, what is next."""
        return compact(self.standing)[1:]

    def on_mount(self) -> None:
        """Start at the first field that is asked and holds nothing yet."""
        super().on_mount()
        self.query_one("#known").display = False
        open_now = (ask.id for ask in self.asked() if not ask.later and not self.proposal(ask))
        first = next(open_now, None)
        if first:
            self.query_one(f"#{first}").focus()

    def arrived(self, record: CaseRecord) -> None:
        """The case has been read."""
        self.view = View.of(record, self.door.rules, self.door.today)
        known = self.query_one("#known", Static)
        known.update("\n".join(self.known(self.view)))
        known.display = bool(self.known(self.view))
        self.query_one(Beneath).tell(self.facts())
        self.read_in(self.view)
        self.typing()

    def typing(self) -> None:
        """Fields come and go with what is typed; one that went cannot be at fault."""
        if self.view is not None:
            self.fit(self.view)
        for field in self.walk_children(Field):
            if field.fault and not field.display:
                field.fault = ""
        for line in self.walk_children(Line):
            if line.warns:
                line.warn(identifying(line.value))

    def plan(self) -> Plan:
        """Nothing before the case is read, nor while a day is half typed."""
        if self.view is None:
            return Plan(nothing="Reading the case ...")
        for field in self.walk_children(DayField):
            if field.display and (field.fault or field.value):
                faults = {field.id or "": field.fault} if field.fault else {}
                return Plan(faults=faults, nothing=f"{field.label}: the day is being typed.")
        return self.plan_of(self.view)

    def plan_of(self, view: View) -> Plan:
        """What would be written now."""
        needs = self.checked(view)
        if needs.refused:
            return Plan(refused=needs.refused)
        if needs.faults:
            return self.lacking(needs.faults)
        drafts = self.drafts(view)
        return Plan(drafts, self.follows(view, drafts))

    # what the fields say

    def stated(self, kind: type[Entry] | None = None) -> dict[str, Any]:
        """The fields of ``kind`` (by default the form's) that are asked and answered, by their names."""
        wanted = kind or self.kind
        values = {
            ask.name: self.value_of(ask)
            for ask in self.asked()
            if (ask.of or self.kind) is wanted and ask.rule is None
        }
        return {name: value for name, value in values.items() if value is not None}

    def value_of(self, ask: Ask) -> Any:
        """What one field says; None where it is empty or not asked."""
        row = self.query_one(f"#{ask.id}")
        if not row.display:
            return None
        match row:
            case DayField():
                return row.chosen
            case YesNo():
                return row.yes if row.value else None
            case Pick():
                return row.value or None
            case Line():
                return self.text_value(ask.rule_in(self.kind), row.value)
            case _:
                return None

    def text_value(self, rule: Rule, text: str) -> Any:
        """What the text of a line says; None where it says nothing that can be read."""
        match rule:
            case Day():
                return read_day(text, self.door.today, ahead=True)
            case Whole() | Number():
                try:
                    return number_of(rule, Decimal(text))
                except (InvalidOperation, RefusalError):
                    return None
            case ClockTime():
                return read_time(text)
            case _:
                return text or None

    def lacks(self) -> dict[str, str]:
        """What the record needs of the fields that are asked, and does not have yet, by their names."""
        faults: dict[str, str] = {}
        for ask in self.asked():
            faults |= self.lacks_of(ask.id)
        return faults

    def lacks_of(self, key: str) -> dict[str, str]:
        """The same of one field, where it is asked."""
        ask = next(ask for ask in self.asked() if ask.id == key)
        row = self.query_one(f"#{key}")
        fault = self.lack_of(ask, row) if row.display else ""
        return {key: f"{ask.words}: {fault}"} if fault else {}

    def lack_of(self, ask: Ask, row: Widget) -> str:
        """Why what stands in one field is no answer."""
        text = row.value if isinstance(row, Line | Pick) else ""
        if not isinstance(row, Line | Pick) or not (text or ask.needed_in(self.kind)):
            return ""
        if isinstance(row, Pick):
            return "" if text else f"choose {row.keys}."
        match rule := ask.rule_in(self.kind):
            case Words():
                few = f"at least {rule.shortest} characters, {len(text)} typed."
                return (ask.lacking or few) if len(text) < rule.shortest else ""
            case Whole() | Number():
                allowed = f"{rule.low} to {rule.high} {rule.unit}".rstrip()
                return f'"{text}" is not {allowed}.' if self.value_of(ask) is None else ""
            case ClockTime():
                return "" if self.value_of(ask) else f'"{text}" is no time of day; say 09:20.'
            case _:
                return "" if self.value_of(ask) else f'"{text}" is no date; say +3, Thu or 5 Mar.'

    def line(self, key: str) -> str:
        """The text of a line that is asked; empty where it is not."""
        field = self.query_one(f"#{key}", Line)
        return field.value if field.display else ""

    def picked(self, key: str) -> str:
        """What was chosen, where it is asked."""
        field = self.query_one(f"#{key}", Pick)
        return field.value if field.display else ""

    def answered(self, key: str) -> bool | None:
        """Yes or no; None where nothing was answered or it is not asked."""
        field = self.query_one(f"#{key}", YesNo)
        return field.yes if field.value and field.display else None

    def on_day(self, key: str) -> date:
        """The chosen day."""
        return self.query_one(f"#{key}", DayField).chosen

    def day_ahead(self, key: str) -> date | None:
        """The date typed in a line, read as one ahead; None when there is none."""
        return read_day(self.line(key), self.door.today, ahead=True)

    def ahead(self, key: str, most: int) -> dict[str, str]:
        """The fault of a date that has to lie from tomorrow to ``most`` days ahead."""
        wanted, latest = self.day_ahead(key), self.door.today + timedelta(days=most)
        if wanted is None or self.door.today < wanted <= latest:
            return {}
        label = self.query_one(f"#{key}", Line).label
        allowed = f"from tomorrow to {day(latest)}, {most} days"
        return {key: f"{label}: {day(wanted)} is not allowed; {allowed}."}

    # what is shown

    def say_day(self, key: str, allowed: str) -> None:
        """Beside a line: the typed date in words, and that the clinic is closed on it or what is allowed.

        There is no room for both, and a date that is not allowed is refused with what is.
        """
        wanted = self.day_ahead(key)
        shown, closed = "Thu, 5 Mar or +7", ""
        if wanted:
            shown = f"{day(wanted, year=False)}, {ago(wanted, self.door.today)}"
            closed = closing_of(self).word(wanted)
        self.query_one(f"#{key}", Line).say_beside(joined(shown, closed or allowed))

    def show(self, key: str, asked: bool) -> None:
        """Ask a field, or do not."""
        self.query_one(f"#{key}").display = asked

    def lacking(self, faults: dict[str, str]) -> Plan:
        """What still lacks: the fields by their labels, marked when it is to be written."""
        named = [sentence.partition(":")[0] for sentence in faults.values()]
        return Plan(faults=faults, nothing=f"Still needed: {', '.join(named)}.")

    def effect_of(self, drafts: Sequence[Draft]) -> list[str]:
        """What the drafts would change of the verdict and the reasons."""
        assert self.record is not None
        after = standing_with(self.record, self.door.rules, self.standing, self.entries(drafts))
        return effect(self.standing, after)

    def limits_moved(self, drafts: Sequence[Draft]) -> tuple[Change, ...]:
        """The limits and opening dates that the drafts would change."""
        assert self.record is not None
        assert self.view is not None
        later = added(self.record, self.entries(drafts))
        return changes(self.view, View.of(later, self.door.rules, self.door.today))
