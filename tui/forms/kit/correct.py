"""Correcting any entry: withdrawn, replaced, or moved to the case it belongs to; all stays on record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import rule_of
from armrise.store.record.kinds.head import CODE_LONGEST, Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.phrase import dated
from armrise.tui.forms.kit.asked import Ask, field_for
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.correct_plan import changes, corrected, refused_instead
from armrise.tui.forms.kit.entry import EntryForm
from armrise.tui.forms.kit.entry_text import texts_of
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.shell.door import Door
from armrise.tui.words.entries import identifying

if TYPE_CHECKING:
    from armrise.store.caseload.timeline import Told

WITHDRAW, REPLACE, MOVE = "withdraw only", "replace", "belongs to another case"
CONFIRMED = "confirmed as measured"


def why_not(told: Told) -> str:
    """Why an entry cannot be corrected; empty when it can."""
    if isinstance(told.entry, Correction):
        return "A correction is not corrected: record what holds as a new entry, with R."
    if told.withdrawn_by is not None:
        return "This entry is withdrawn already: record what holds as a new entry, with R."
    return ""


class CorrectScreen(EntryForm):
    """Withdraws one entry, with another in its place here or in another case."""

    heading = "Correct"
    verb = "Will withdraw"
    write_label = "Write this correction"

    def __init__(self, door: Door, standing: Standing, entry: Entry) -> None:
        super().__init__(door, standing, entry.KIND, texts_of(entry))
        self.entry = entry

    @classmethod
    def again(cls, door: Door, standing: Standing, about: str) -> CorrectScreen:
        """The correction of the same entry."""
        told = door.timeline(standing.code).of(int(about))
        assert told is not None, "nothing is ever deleted"
        return cls(door, standing, told.entry)

    def kept_as(self) -> str:
        """Each entry has its own correction."""
        return f"{type(self).__name__}:{self.entry.id}"

    def lead(self) -> str:
        """The entry, and that nothing vanishes."""
        said = f"{dated(self.entry, self.door.rules)} (by {self.entry.author or 'an unnamed author'})"
        return f"{said}\nBoth stay on record: what is withdrawn is shown struck, and counts no more."

    def rows(self) -> Iterable[Widget]:
        """What to do, why, and the fields of what stands instead."""
        yield Pick("what to do", (WITHDRAW, REPLACE, MOVE), key="what")
        yield field_for(Ask("reason", "reason *"), Correction, self.door.today)
        yield Line("code of the other case *", key="code", longest=CODE_LONGEST)
        yield self.lines()

    def on_mount(self) -> None:
        """Only what the choice needs is shown."""
        super().on_mount()
        self.fit()

    def arrived(self, record: CaseRecord) -> None:
        """Start with what to do; name the person's other case, the likeliest one to move to."""
        if record.linked:
            self.query_one("#code", Line).say_beside(f"same person: {', '.join(record.linked)}")
        if self.focused is None:
            self.query_one("#what").focus()

    def move_on(self) -> None:
        """The reason comes right after what to do, whatever has just been shown or hidden."""
        if self.focused is self.query_one("#what"):
            self.typing()
            self.set_focus(self.query_one("#reason", Line).input)
        else:
            super().move_on()

    @property
    def what(self) -> str:
        """The choice taken so far."""
        return self.query_one("#what", Pick).value

    def typing(self) -> None:
        """Show what the choice needs; warn of names in the reason."""
        self.fit()
        line = self.query_one("#reason", Line)
        line.warn(identifying(line.value))

    def fit(self) -> None:
        """The fields of a replacement only where there is one."""
        self.query_one("#code").display = self.what == MOVE
        self.query_one("#entry-lines").display = self.what in (REPLACE, MOVE)

    def plan(self) -> Plan:
        """What is withdrawn and what is written instead, and what follows from it."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        if not self.what:
            keys = self.query_one("#what", Pick).keys
            nothing = f"Choose {keys}: nothing to write yet."
            return Plan(faults={"what": f"what to do: choose {keys}."}, nothing=nothing)
        faults = self.faults()
        if self.what == WITHDRAW:
            return Plan([("withdrawal", {})], self.follows(None), faults)
        read = self.stated()
        if read.values is None:
            return Plan(faults=faults | self.at_lines(read.faults), nothing=self.incomplete(read.faults))
        instead = self.door.draft(self.kind, **read.values)
        return self.instead(instead, read.values, faults)

    def instead(self, instead: Entry, values: dict[str, Any], faults: dict[str, str]) -> Plan:
        """The plan with another entry in place of this one."""
        draft: Draft = (self.kind, values)
        if self.what == MOVE:
            return Plan([draft], self.follows(None), faults)
        if all(getattr(self.entry, name) == value for name, value in values.items()):
            return Plan(faults=faults, nothing="Nothing is changed yet: change a field, or withdraw only.")
        refused = refused_instead(self.entry, instead)
        if refused:
            return Plan(refused=refused)
        return Plan([draft], self.follows(instead), faults)

    def to_confirm(self, plan: Plan) -> list[str]:
        """What is withdrawn, what is written in its place and where, and what follows."""
        if not plan.drafts:
            return []
        where = f"in {self.other_code() or '(code)'}" if self.what == MOVE else "instead"
        told = [f"and write {where}: {dated(entry, self.door.rules)}" for entry in self.entries(plan.drafts)]
        return [dated(self.entry, self.door.rules), *told, *plan.then]

    def follows(self, instead: Entry | None) -> list[str]:
        """What changes in this case on the clinic date, each on a line."""
        assert self.record is not None
        after = corrected(self.record, self.entry, instead)
        return changes(self.record, after, self.door.rules, self.door.today)

    def other_code(self) -> str:
        """The code typed, as codes are written."""
        return self.query_one("#code", Line).value.upper()

    def faults(self) -> dict[str, str]:
        """What the correction itself lacks."""
        faults: dict[str, str] = {}
        reason = self.query_one("#reason", Line).value
        shortest: int = rule_of(Correction, "reason").shortest
        if len(reason) < shortest:
            faults["reason"] = f"reason: at least {shortest} characters, {len(reason)} typed."
        if self.what == MOVE and not self.other_code():
            faults["code"] = "code of the other case: type it."
        elif self.what == MOVE and self.other_code() == self.standing.code.upper():
            faults["code"] = f"code of the other case: {self.standing.code} is this case."
        return faults

    def entries(self, drafts: Sequence[Draft]) -> list[Entry]:
        """What stands instead, if anything does."""
        return [] if self.what == WITHDRAW else super().entries(drafts)

    def write_now(self, entries: list[Entry]) -> str:
        """Hand the correction to the store."""
        reason, code = self.query_one("#reason", Line).value, self.standing.code
        if self.what == MOVE:
            return self.door.move(
                code, self.entry, reason, self.other_code(), entries[0], confirmed=self.confirmed
            )
        instead = entries[0] if entries else None
        return self.door.correct(code, self.entry, reason, instead, confirmed=self.confirmed)


class ConfirmScreen(FormScreen):
    """A value that contradicts another was measured and stands: written anew as confirmed."""

    heading = "Confirmed as measured"
    verb = "Will write"
    write_label = "Write this"
    keys = "y or F2 write   Esc leave, nothing written   F8 blank"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("y", "write", "Confirm", show=False, id="confirm.write")]

    def __init__(self, door: Door, standing: Standing, told: Told) -> None:
        super().__init__(door, standing)
        self.told = told

    def lead(self) -> str:
        """What it contradicts, and what confirming does."""
        found = self.told.contradiction
        assert found is not None
        against = dated(found.against, self.door.rules)
        return f"It contradicts {against}: {found.words}.\nConfirmed, it counts for verdicts as it stands."

    def plan(self) -> Plan:
        """The same measurement, confirmed."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        after = corrected(self.record, self.told.entry, self.confirmed_entry())
        said = changes(self.record, after, self.door.rules, self.door.today)
        return Plan([("confirmation", {})], said)

    def confirmed_entry(self) -> Entry:
        """The measurement with the mark, to be recorded now by whoever confirms."""
        now = self.door.now()
        entry: Any = self.told.entry
        return replace(
            entry,
            confirmed=True,
            author=self.door.author,
            recorded_at=now,
            recorded_on=self.door.day_of(now),
        )

    def entries(self, drafts: Sequence[Draft]) -> list[Entry]:
        """The confirmed measurement."""
        return [self.confirmed_entry()]

    def write_now(self, entries: list[Entry]) -> str:
        """Correct the measurement to itself, confirmed."""
        return self.door.correct(
            self.standing.code, self.told.entry, CONFIRMED, entries[0], confirmed=self.confirmed
        )
