"""One activity of the patient's own: rated by one bare key, named by typing its name first."""

from __future__ import annotations

import re
from collections.abc import Sequence

from textual.widget import Widget
from textual.widgets import Input

from armrise.store.clinic.scores.activities import own_activities
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import ACTIVITY_LONGEST, BETWEEN
from armrise.store.record.light import NamedTuple
from armrise.tui.forms.kit.fields import Changed, go_on
from armrise.tui.forms.kit.line import Line
from armrise.tui.words.entries import identifying

RATED = re.compile(r"(?:(?P<name>.*?)\s+)?(?P<rating>\d{1,3}|x|d)", re.IGNORECASE)


class Rated(NamedTuple):
    """What a line says; ``fault`` says in one sentence why it says nothing."""

    name: str = ""
    rating: int | Absence = Absence.NOT_ASKED
    fault: str = ""


def read_activity(text: str, label: str, known: str = "") -> Rated:
    """The name and the rating in "reach up 3", "3", "x", "d"; a name alone is not asked yet."""
    match = RATED.fullmatch(text.strip())
    name = (match["name"] or "" if match else text).strip()
    if BETWEEN.strip() in name or len(name) > ACTIVITY_LONGEST:
        return Rated(fault=f"{label}: a name has at most {ACTIVITY_LONGEST} characters and no semicolon.")
    if name and known and name != known:
        return Rated(fault=f'{label}: this one is "{known}"; another activity goes on an empty row.')
    key = match["rating"].lower() if match else ""
    if key == "d":
        return Rated(name, Absence.DECLINED)
    rating = 10 if key == "x" else int(key) if key else Absence.NOT_ASKED
    if isinstance(rating, int) and rating > 10:
        return Rated(fault=f"{label}: {rating} is no rating: 0-9, x for 10, or d for declined.")
    return Rated(name, rating)


class Activity(Line):
    """A row for one of them. A bare digit is its rating and goes on; a letter begins a name."""

    hint = "0-9 rates and goes on; or name it: reach up 3, Enter   x 10   d declined"

    def __init__(self, number: int, *, key: str) -> None:
        best = "10 as before the trouble" if number == 1 else ""
        super().__init__(f"own activity {number}", key=key, longest=ACTIVITY_LONGEST + 4, beside=best)
        self.number = number
        self.known = ""

    def name_it(self, names: Sequence[str]) -> None:
        """Ask by the name that is known."""
        self.known = names[self.number - 1] if len(names) >= self.number else ""
        if self.known:
            self.relabel(self.known)

    @property
    def rated(self) -> Rated:
        """What stands in it."""
        return read_activity(self.value, self.label, self.known)

    def takes(self, character: str) -> bool:
        """A digit where nothing is typed."""
        untouched = not self.value or self.input.selected_text == self.input.value
        if not (untouched and character.isdecimal() and character.isascii()):
            return False
        self.input.value = character
        self.fault = ""
        go_on(self)
        return True

    def submitted(self) -> None:
        """What is no rating stays and is marked."""
        if fault := self.rated.fault:
            self.fault = fault
            self.post_message(Changed())
        else:
            super().submitted()

    def on_input_changed(self, event: Input.Changed) -> None:
        """A name of a person is warned about."""
        self.warn(identifying(self.rated.name))


def name_activities(form: Widget, record: CaseRecord) -> None:
    """Ask for the activities of a case by their names."""
    for row in form.query(Activity):
        row.name_it(own_activities(record.scores))
