"""Something is added as "How to add" says, in a copy of the sources, and tried from end to end."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parents[1]
HOW_TO_ADD = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## How to add")[2]


class Change(NamedTuple):
    """Text put before the one place ``at`` of a file; without ``at`` a new file."""

    file: str
    at: str
    text: str


NEXT_SCHEMA = Change("store/database/migrate.py", '"""The schema this program writes', "SCHEMA = 7\n")
"""The closed lists are conditions of the tables; what is declared follows from the record types."""

CHANGES: dict[str, list[Change]] = {
    "kind": [
        Change(
            "store/record/kinds/care.py",
            "@dataclass(frozen=True, slots=True, kw_only=True)\nclass Contact",
            '''\
@dataclass(frozen=True, slots=True, kw_only=True)
class Transport(Entry):
    """How the patient comes to the clinic."""

    KIND: ClassVar[str] = "transport"
    MEANING: ClassVar[str] = "how the patient comes"

    by: str = must(Choice(("walk", "bus", "car", "ambulance")))

    def sentence(self, names: Names | None, day: str) -> str:
        return f"comes by {self.by}{placed('on', day)}"


''',
        ),
        Change("store/record/case.py", "Visit\nfrom", "Transport, "),
        Change("store/record/case.py", "    linked: tuple", "    transports: tuple[Transport, ...] = ()\n"),
        NEXT_SCHEMA,
    ],
    "measure": [
        Change("store/record/kinds/measured.py", '    "adherence",\n', '    "extension_strength",\n'),
        Change(
            "store/rules/pathways/rules.toml",
            "[measures.adherence]",
            """\
[measures.extension_strength]
label = "extension strength"
unit = "percent of other side"
low = 0
high = 200
lower_is_better = false
question = false
stale = { days = 28, source = "design of this project", status = "design" }

""",
        ),
        NEXT_SCHEMA,
    ],
    "reason": [
        Change(
            "store/rules/pathways/rules.toml",
            "\n# What to do about a reason",
            'FUP = { rank = 27, tier = "move on", name = "note to follow up" }\n',
        ),
        Change(
            "store/rules/pathways/rules.toml",
            "\n# Urgency of a red-flag answer",
            """
[[do]]
reason = "FUP"
steps = [{ say = "look at the note", act = "review" }]
source = "this test"
status = "design"
""",
        ),
        Change(
            "store/clinic/standing/care.py",
            "OF_THE_CARE = {",
            """\
def _fup(view: View) -> Found | None:
    notes = [d for d in view.upto("decisions") if d.about == "other"]
    return Found(0, notes[-1].note, notes[-1].on, (notes[-1].id,)) if notes else None


""",
        ),
        Change(
            "store/clinic/standing/care.py",
            '    "LTR": ReasonRule(',
            '    "FUP": ReasonRule(condition=_fup, counts="nothing"),\n',
        ),
    ],
    "screen": [
        Change(
            "tui/pages/roster.py",
            "",
            '''\
"""Who is in today."""

from __future__ import annotations

from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets import Static


class RosterScreen(Screen[None]):
    """A page of its own."""

    READING: ClassVar[tuple[str, ...]] = ("Who is in today.",)
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss", "back", id="roster.leave")]

    def compose(self) -> ComposeResult:
        yield Static("Who is in today")
''',
        ),
        Change("tui/app/screens.py", '    "StepScreen"', '    "RosterScreen": "armrise.tui.pages.roster",\n'),
    ],
    "pathway": [
        Change(
            "store/rules/pathways/EL.toml",
            "",
            """\
code = "EL"
name = "Elbow beside the shoulder"
score = "QuickDASH"
half_rule = "never"
checkpoint = { days = 42, source = "design of this project", status = "design" }

[[stage]]
code = "EL1"
name = "Settle"
purpose = "settle the pain"
minimum = { days = 7, source = "design of this project", status = "design" }
usual = { days = 10, source = "design of this project", status = "design" }
stall = { days = 30, source = "design of this project", status = "design" }
review = { days = 21, source = "design of this project", status = "design" }
adds = ["P0", "P1"]

[stage.limits]
during = { points = 3, source = "design of this project", status = "design" }
later = { points = 3, source = "design of this project", status = "design" }
rise = { points = 1, source = "design of this project", status = "design" }

[[stage.exit]]
kind = "sessions"
text = "3 good sessions in a row"
good = 3
source = "design of this project"
status = "design"
""",
        ),
        Change("store/rules/pathways/rules.toml", '"FX"]', '"EL", '),
    ],
    "stage_figure": [
        Change(
            "store/rules/pathway.py",
            "    review_early_days: Figure | None = ",
            '    quiet: Figure | None = may(_REVIEW, "quiet", "without data is silence")\n',
        ),
        Change(
            "store/clinic/time/clocks.py",
            "    rules = view.rules\n    share = ",
            "    if view.stage and view.stage.quiet:\n        return view.stage.quiet.whole\n",
        ),
        Change(
            "store/rules/pathways/RC.toml",
            'adds = ["R1"]',
            'quiet = { days = 4, source = "design of this project", status = "design" }\n',
        ),
    ],
}
"""What is written for each. The files are those that "How to add" names."""

COUNTS = {"kind": 3, "measure": 3, "reason": 2, "screen": 2, "pathway": 2, "stage_figure": 3}
"""How many files each touches."""


def grown(folder: Path, changes: list[Change]) -> None:
    """A copy of the sources with the changes."""
    for top in ("store", "tui"):
        shutil.copytree(ROOT / top, folder / "armrise" / top)
    shutil.copy(ROOT / "demo_caseload.json", folder / "armrise")
    for file, at, text in changes:
        path = folder / "armrise" / file
        if not at:
            path.write_text(text, encoding="utf-8")
            continue
        source = path.read_text(encoding="utf-8")
        assert source.count(at) == 1, f"{file}: {at!r} stands {source.count(at)} times"
        path.write_text(source.replace(at, text + at), encoding="utf-8")


TOGETHER = [["kind", "screen", "stage_figure"], ["measure", "pathway", "reason"]]
"""What is tried in one copy: nothing of one could stand in for what another lacks."""


@pytest.mark.parametrize("names", TOGETHER, ids=" ".join)
def test_what_is_added_works(names: list[str], tmp_path: Path) -> None:
    grown(tmp_path, [change for name in names for change in CHANGES[name]])
    where = {"PYTHONPATH": os.pathsep.join([str(tmp_path), str(ROOT), os.environ.get("PYTHONPATH", "")])}
    ran = subprocess.run(
        [sys.executable, "-m", "tests.adding", *names],
        cwd=tmp_path,
        env=os.environ | where,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr[-3000:]


def test_each_of_them_is_tried() -> None:
    assert sorted(name for names in TOGETHER for name in names) == sorted(CHANGES)


@pytest.mark.parametrize("name", CHANGES)
def test_the_files_are_those_that_how_to_add_names(name: str) -> None:
    row = next(row for row in HOW_TO_ADD.splitlines() if row.startswith(f"| {name.replace('_', ' ')} |"))
    told = set(re.findall(r"`([\w/.]+)`", row.split("|")[2]))
    touched = {re.sub(r"/(EL|RC)\.toml", "/XX.toml", change.file) for change in CHANGES[name]}
    assert touched == told
    assert len(touched) == COUNTS[name]
