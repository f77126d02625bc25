"""A letter drafted from the record: eight lines, whom it is for, and what it goes on from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.letter import lines
from armrise.store.clinic.letter.missed import to_the_patient
from armrise.store.clinic.letter.reader import copy_to, reader
from armrise.store.clinic.standing.stand import stand_view
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.fields import rule_of
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Letter
from armrise.store.record.light import dataclass

ABOUT: tuple[str, ...] = rule_of(Letter, "about").words
"""What a letter may be about."""
SUPPRESSED = "The case is closed by death: no letter is drafted, and none is owed."


@dataclass(frozen=True, slots=True)
class Drafted:
    """The lines that follow from the record on the clinic date; ``copy`` is empty where nobody gets one."""

    about: str
    to: str
    copy: str
    lines: tuple[str, ...]


def suppressed(view: View) -> str:
    """Why no letter is drafted, in one sentence; empty where one may be (practice note 4.13, case 27)."""
    return SUPPRESSED if view.closed and view.closed.outcome == "died" else ""


def drafted(view: View, about: str) -> Drafted | None:
    """The letter about one of :data:`ABOUT`, as of the view's date; None where it is suppressed."""
    if suppressed(view):
        return None
    if about == "missed visits":
        said = to_the_patient(view)
    else:
        standing = stand_view(view)
        said = (
            lines.whom(view),
            lines.dates(view),
            lines.pain(view, standing),
            lines.movement(view),
            lines.score(view),
            lines.state(view, standing),
            lines.plan(view, standing),
            lines.asked(view, standing, about),
        )
    return Drafted(about, reader(view, about), copy_to(view, about), tuple(said))


def latest(view: View, about: str) -> Letter | None:
    """The newest letter of that kind in the episode, sent or not."""
    return newest([x for x in view.since("letters", view.episode_start) if x.about == about])


def open_draft(view: View, about: str) -> Letter | None:
    """The newest letter of that kind where it is a draft with its text: the next one goes on from it."""
    last = latest(view, about)
    return last if last and last.state == "draft" and last.lines else None


def as_sent(view: View, about: str) -> dict[str, str]:
    """What an entry states that such a letter was sent: with the text of the draft that waited for it."""
    waiting = open_draft(view, about)
    text = {"body": waiting.body} if waiting and waiting.body else {}
    return {"about": about, "state": "sent", **text}


def recorded_since(view: View, letter: Letter) -> str:
    """What was recorded of the case after a letter, as "2 entries (measure, visit)"; else "nothing"."""
    fields = sorted(set(FIELD_OF_KIND.values()) - {"letters"})
    told: Sequence[Entry] = [e for name in fields for e in view.upto(name) if _after(e, letter)]
    if not told:
        return "nothing"
    kinds = Counter(entry.KIND for entry in told)
    named = ", ".join(
        kind if number == 1 else f"{number} of {kind}" for kind, number in sorted(kinds.items())
    )
    return f"{len(told)} {'entry' if len(told) == 1 else 'entries'} ({named})"


def _after(entry: Entry, letter: Letter) -> bool:
    return (entry.recorded_at, entry.id) > (letter.recorded_at, letter.id)


def unsaid(view: View, text: Sequence[str]) -> list[str]:
    """What is dangerous on the view's date and does not stand in the text, whoever took it out."""
    whole = " ".join(text)
    return [
        f"{what}: {one}" for what, each in lines.dangers(view).items() for one in each if one not in whole
    ]
