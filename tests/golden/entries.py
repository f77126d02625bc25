"""The wordings of one entry: every function of the program that puts an entry into words, side by side."""

from __future__ import annotations

from collections.abc import Iterator

from armrise.store.caseload.refusal import describe as described_by_refusal
from armrise.store.caseload.timeline import Told
from armrise.store.clinic.actions.needs import flag_words
from armrise.store.clinic.advice.dose_words import told
from armrise.store.clinic.programme.parts import Dose
from armrise.store.record.case import KINDS
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import HomeLoads, ProgrammeItem
from armrise.store.record.kinds.safety import Screen
from armrise.store.record.phrase import dated, phrase
from armrise.store.rules.pathway import Rules
from armrise.tui.case.history_words import entry_lines, fields_of, whole_entry
from armrise.tui.forms.kit.entry_text import texts_of
from armrise.tui.forms.programme.plan import home_words
from armrise.tui.forms.programme.view import class_words, dose_line
from armrise.tui.widgets.pieces import laid
from tests.golden.demo import Demo
from tests.golden.samples import samples

WIDTH = 76
LEGEND = """\
The wordings of each entry, by kind: first those of the demonstration, then made ones.
  refusal  store/caseload/refusal.py describe, when the store refuses
  phrase   store/record/phrase.py phrase with rules, in the history and on its pane
  bare     store/record/phrase.py phrase without rules
  dated    store/record/phrase.py dated with rules, wherever an entry is named with its day
  history  tui/case/history_words.py entry_lines, in the list of the history
  form     tui/forms/kit/entry_text.py texts_of, in the general form and when correcting
  fields   tui/case/history_words.py fields_of, on the pane of the history
  pane     tui/case/history_words.py whole_entry, the pane itself
  dose     store/clinic/programme/parts.py Dose.words, in proposals and plain text
  patient  store/clinic/advice/dose_words.py told, beside the patient
  item     tui/forms/programme/view.py class_words and dose_line, in the programme
  home     tui/forms/programme/plan.py home_words, in the programme
  flag     store/clinic/actions/needs.py flag_words, where an open flag refuses something
What each form of its own says it will write stands in forms.txt.
Wordings that are the same share a line. Fields left empty are left out of "form".
"""


def entry_files(demo: Demo) -> dict[str, str]:
    """One file a kind, and one that says which wording is made where."""
    told: dict[str, list[tuple[str, Told]]] = {kind: [] for kind in KINDS}
    for code in demo.codes:
        for one in demo.door.timeline(code).told:
            told[one.entry.KIND].append((code, one))
    files = {f"entry-{kind.replace(' ', '-')}.txt": _file(kind, told[kind], demo) for kind in KINDS}
    return {"entry.txt": LEGEND, **files}


def _file(kind: str, told: list[tuple[str, Told]], demo: Demo) -> str:
    lines: list[str] = []
    for code, one in told:
        lines += [f"# {code} {one.entry.on}", *_shared(_wordings(one, demo)), ""]
    for said, made in samples(kind):
        lines.append(f"# made: {said}")
        if isinstance(made, str):
            lines += [f"  refused: {made}", ""]
            continue
        one = Told(made, 0)
        whole = _whole(one, demo) if said == "every field" else []
        lines += [*_shared(_wordings(one, demo)), *whole, ""]
    return "\n".join(lines)


def _wordings(told: Told, demo: Demo) -> Iterator[tuple[str, str]]:
    """Each wording by the name of the legend."""
    entry, rules = told.entry, demo.rules
    yield "refusal", described_by_refusal(entry)
    yield "phrase", phrase(entry, rules)
    yield "bare", phrase(entry)
    yield "dated", dated(entry, rules)
    yield "history", " | ".join(line.text for line in entry_lines(told, rules, WIDTH))
    texts = {name: text.replace("\n", " | ") for name, text in texts_of(entry).items() if text}
    yield "form", "; ".join(f"{name}={text}" for name, text in texts.items())
    yield "fields", "; ".join(f"{label}: {words}" for label, words in fields_of(entry))
    yield from _elsewhere(entry, rules)


def _elsewhere(entry: Entry, rules: Rules) -> Iterator[tuple[str, str]]:
    """Wordings that single kinds have besides."""
    match entry:
        case ProgrammeItem():
            yield "dose", Dose.of(entry).words(entry)
            yield "patient", told(entry, rules).line(rules.words)
            yield "item", f"{class_words(entry)} | {dose_line(entry)}"
        case HomeLoads():
            yield "home", home_words(entry)
        case Screen():
            yield "flag", flag_words(entry)


def _shared(wordings: Iterator[tuple[str, str]]) -> list[str]:
    """A line a wording, led by every name that has it."""
    names: dict[str, list[str]] = {}
    for name, words in wordings:
        names.setdefault(words, []).append(name)
    return [f"  {', '.join(found)}: {words}" for words, found in names.items()]


def _whole(told: Told, demo: Demo) -> list[str]:
    local = demo.door.store.local(told.entry.recorded_at)
    lines = laid(whole_entry(told, demo.rules, local), WIDTH)
    return ["  pane:", *(f"    {''.join(span.text for span in line)}".rstrip() for line in lines)]
