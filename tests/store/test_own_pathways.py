"""A pathway is what its rule file says, never what it is called: a clinic's own counts like a shipped one.

Every expected value is what the same entries give under the shipped rules.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from armrise.store.caseload import read as caseload
from armrise.store.caseload.taking.take import take_whole
from armrise.store.clinic.actions.placing import propose_pathway, propose_stage
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.stand import stand
from armrise.store.database.place import Store
from armrise.store.exchange.into.caseload_file import demo_path, read
from armrise.store.record.kinds.plan import Step
from armrise.store.record.kinds.safety import Onset
from armrise.store.rules import read as rulefile
from armrise.store.rules.diff import difference
from armrise.store.rules.pathway import Rules
from armrise.tui.command import commands
from armrise.tui.shell import intake
from tests.clinic.build import Builder, case, item
from tests.clinic.demo_records import demo, records
from tests.store.drafts import MORNING, TODAY
from tests.store.test_board import on, put

RENAMED = {"RC": "ZA", "FS": "ME", "PO": "BU", "AD": "XI", "OA": "PO", "FX": "AA"}
"""Other codes in another order; one of them is the old code of another pathway."""


def under(codes: Mapping[str, str], text: str) -> str:
    """The text with every pathway and stage code replaced."""
    return re.sub(rf"\b({'|'.join(codes)})(?=\d?\b)", lambda found: codes[found[1]], text)


def rules_folder(folder: Path, codes: Mapping[str, str]) -> Path:
    """The shipped rule files with every code replaced, in names and texts."""
    folder.mkdir()
    for path in rulefile.SHIPPED.glob("*.toml"):
        name = under(codes, path.name)
        (folder / name).write_text(under(codes, path.read_text(encoding="utf-8")), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def shipped() -> Rules:
    return rulefile.load()


@pytest.fixture(scope="module")
def renamed(tmp_path_factory: pytest.TempPathFactory) -> Rules:
    return rulefile.load(rules_folder(tmp_path_factory.mktemp("renamed") / "rules", RENAMED))


# --- a copy under another code -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def with_a_copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of rules that holds AD a second time, as SH."""
    folder = tmp_path_factory.mktemp("copied") / "rules"
    shutil.copytree(rulefile.SHIPPED, folder)
    text = (folder / "AD.toml").read_text(encoding="utf-8")
    (folder / "SH.toml").write_text(under({"AD": "SH"}, text), encoding="utf-8")
    common = (folder / "rules.toml").read_text(encoding="utf-8")
    assert '"FX"]' in common
    (folder / "rules.toml").write_text(common.replace('"FX"]', '"FX", "SH"]'), encoding="utf-8")
    return folder


def dislocated(pathway: str) -> Builder:
    """Heavy resisted work on day 54 after a dislocation 250 days ago, and harmless sessions since."""
    made = case("AD1", day=249, onset=250, last_visit=3)
    made.step(-240, "AD2", "forward").step(-90, "AD3", "forward")
    made.session(54 - 250, 2, 2, 2, item("R3"))
    for day in range(-237, 0, 3):
        made.session(day, 2, 2, 2, item("I2"))
    made.entries = [
        replace(entry, stage=under({"AD": pathway}, entry.stage)) if isinstance(entry, Step) else entry
        for entry in made.entries
    ]
    return made


def limit_broken(standing: Standing) -> list[str]:
    return [reason.sentence for reason in standing.reasons if reason.code == "LIM"]


@pytest.mark.parametrize("registered_as", ["AD", "SH", "RC"])
def test_a_limit_broken_in_a_pathway_of_the_clinics_own_stays_on_the_list(
    store: Store, with_a_copy: Path, registered_as: str
) -> None:
    rules = rulefile.load(with_a_copy)
    pathway = "AD" if registered_as == "AD" else "SH"
    put(store, "A", dislocated(pathway).entries, pathway=registered_as, registered_on=on(-250))
    (listed,) = caseload.standings(store, rules, TODAY)
    assert listed == stand(caseload.case(store, "A"), rules, TODAY)
    assert listed.tier == "today"
    (sentence,) = limit_broken(listed)
    assert "on day 54 after injury" in sentence


def test_a_limit_broken_between_two_other_pathways_stays_on_the_list(store: Store, with_a_copy: Path) -> None:
    """The case came from one pathway, heals in the clinic's own, and went on to a third."""
    made = dislocated("SH").step(-20, "FS1", "placing")
    put(store, "A", made.entries, pathway="RC", registered_on=on(-250))
    rules = rulefile.load(with_a_copy)
    (listed,) = caseload.standings(store, rules, TODAY)
    assert limit_broken(listed)
    assert listed == stand(caseload.case(store, "A"), rules, TODAY)


def test_list_and_case_of_the_program_say_the_same_of_it(tmp_path: Path, with_a_copy: Path) -> None:
    store = Store.create(tmp_path / "caseload", zone="Europe/London", clinic_date=TODAY)
    put(store, "A-1", dislocated("SH").entries, pathway="SH", registered_on=on(-250))
    for words in (("list", "--store", str(store.path)), ("case", "A-1", "--store", str(store.path))):
        intake._load_rules.cache_clear()
        said = CliRunner().invoke(commands.cli, [*words, "--rules", str(with_a_copy)])
        assert said.exit_code == 0, said.output
        assert "healing limit broken" in said.output
    intake._load_rules.cache_clear()


@pytest.mark.parametrize("pathway", ["RC", "SH", "XX"])
def test_without_rules_nobody_knows_what_heals_and_all_is_read(store: Store, pathway: str) -> None:
    put(store, "A", dislocated(pathway).entries, pathway=pathway, registered_on=on(-250))
    (record,) = caseload.board(store, today=TODAY)
    assert record == caseload.case(store, "A")


# --- every pathway under another code ------------------------------------------------------------------


def demo_under(codes: Mapping[str, str], path: Path, rules: Rules) -> Store:
    """A store of the demonstration, its pathways and stages called by other codes."""
    data = json.loads(demo_path().read_text(encoding="utf-8"))
    for one in data["cases"]:
        one["pathway"] = codes[one["pathway"]]
        for entry in one["entries"]:
            if "stage" in entry:
                entry["stage"] = under(codes, entry["stage"])
    path.mkdir()
    (path / "demo.json").write_text(json.dumps(data), encoding="utf-8")
    file = read(path / "demo.json", rules)
    store = Store.create(path / "demo", zone=file.zone, fictional=True, clinic_date=TODAY)
    take_whole(store, file)
    return store


def test_the_demonstration_stands_the_same_whatever_the_pathways_are_called(
    tmp_path: Path, shipped: Rules, renamed: Rules
) -> None:
    """Order, tier, reasons with severity and days open, verdict with every criterion, limits, cautions."""
    here = demo_under({code: code for code in RENAMED}, tmp_path / "here", shipped)
    there = demo_under(RENAMED, tmp_path / "there", renamed)
    standings = caseload.standings(there, renamed, TODAY)
    assert len(standings) == 36
    assert [repr(standing) for standing in standings] == [
        under(RENAMED, repr(standing)) for standing in caseload.standings(here, shipped, TODAY)
    ]
    read_here, read_there = (
        [(record.code, record.known_spans) for record in caseload.board(store, today=TODAY, rules=rules)]
        for store, rules in ((here, shipped), (there, renamed))
    )
    assert read_here == read_there
    assert {bool(spans) for _, spans in read_here} == {True, False}, "some read in full, some for a window"


GRADUAL = Onset(
    on=on(-90), recorded_at=MORNING, recorded_on=TODAY, author="TK", what="gradual"
)  # an onset that no pathway counts from


@pytest.mark.parametrize("onsets", [None, (), (GRADUAL,)], ids=["as recorded", "none", "gradual"])
def test_first_visits_are_placed_the_same_whatever_the_pathways_are_called(
    shipped: Rules, renamed: Rules, onsets: tuple[Onset, ...] | None
) -> None:
    """Every case of the demonstration as if it had no step yet: pathway, stage and words."""
    proposed: set[str | None] = set()
    for record in records(demo()):
        before = replace(record, steps=(), onsets=record.onsets if onsets is None else onsets)
        after = replace(before, pathway=RENAMED[before.pathway])
        old, new = View.of(before, shipped, TODAY), View.of(after, renamed, TODAY)
        pathway = propose_pathway(old)
        proposed.add(pathway.pathway)
        assert repr(propose_pathway(new)) == under(RENAMED, repr(pathway))
        for code, agreed in shipped.pathways.items():
            placed = propose_stage(new, renamed.pathways[RENAMED[code]])
            assert repr(placed) == under(RENAMED, repr(propose_stage(old, agreed)))
    assert proposed == PROPOSED[onsets]


PROPOSED = {None: {None, "FS", "PO", "AD", "FX"}, (): {None, "FS"}, (GRADUAL,): {"FS", "RC"}}
"""What each of them proposes over the demonstration, so that every way of proposing has been compared."""


# --- folders of rules written before a file could say how a first visit places -------------------------


def test_an_older_folder_is_placed_like_the_shipped_pathways(tmp_path: Path, shipped: Rules) -> None:
    folder = rules_folder(tmp_path / "rules", {code: code for code in RENAMED})
    for path in folder.glob("*.toml"):
        text = re.sub(r"(?m)^placing = .*\n", "", path.read_text(encoding="utf-8"))
        path.write_text(text, encoding="utf-8")
    assert rulefile.faults(folder) == ()
    assert rulefile.load(folder) == shipped
    assert difference(shipped, rulefile.load(folder)) == ()


def test_a_folder_that_says_placing_somewhere_means_what_it_leaves_out(tmp_path: Path) -> None:
    folder = rules_folder(tmp_path / "rules", {code: code for code in RENAMED})
    text = (folder / "OA.toml").read_text(encoding="utf-8")
    assert 'placing = "arthritis"\n' in text
    (folder / "OA.toml").write_text(text.replace('placing = "arthritis"\n', ""), encoding="utf-8")
    rules = rulefile.load(folder)
    assert [rules.pathways[code].placing for code in ("RC", "FS", "OA")] == ["tendon", "stiffness", None]
    assert difference(rulefile.load(), rules) == ('OA, a first visit places it as: removed, "arthritis"',)


@pytest.mark.parametrize(
    ("name", "old", "new", "said"),
    [
        (
            "RC.toml",
            'placing = "tendon"',
            'placing = "tendons"',
            "RC.toml, placing: is 'tendons', allowed is one of tendon, stiffness, arthritis.",
        ),
        (
            "AD.toml",
            "clock = ",
            'placing = "tendon"\nclock = ',
            "AD.toml, placing: has no effect beside clock: the days since the onset say where a case begins.",
        ),
    ],
)
def test_a_placing_that_cannot_count_is_refused(
    tmp_path: Path, name: str, old: str, new: str, said: str
) -> None:
    folder = rules_folder(tmp_path / "rules", {code: code for code in RENAMED})
    text = (folder / name).read_text(encoding="utf-8")
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    assert rulefile.faults(folder) == (said,)
