"""A store written as a FHIR bundle, and a bundle taken into a store, by the commands."""

from __future__ import annotations

import json
import shutil
import stat
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from armrise.store.caseload.read import codes
from armrise.store.database.place import Store
from armrise.store.exchange.fhir.carried import losses
from armrise.store.exchange.fhir.systems import PERSON
from armrise.store.verify.verify import verify
from tests.test_command_export import Ran, Run, run

__all__ = ["run"]
CASE = "BY-003"


@pytest.fixture(scope="module")
def demo(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of the demonstration that stays as it is."""
    return Path(shutil.copy(made, tmp_path_factory.mktemp("demo") / "demo.armrise"))


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    """An empty store of a fictional clinic."""
    fixed = {"fictional": True, "clinic_date": date(2026, 3, 2)}
    return Store.create(tmp_path / "empty.armrise", zone="Europe/London", **fixed).path


def entries(store: Path) -> int:
    with Store.open(store, read_only=True).reading() as connection:
        return int(connection.execute("SELECT count(*) FROM entry").fetchone()[0])


def written(run: Run, demo: Path, file: Path, *more: str) -> dict[str, Any]:
    ran = run("export", "--fhir", file, CASE, *more, "--store", demo)
    assert ran.code == 0, ran.err
    return json.loads(file.read_text(encoding="utf-8"))


def test_a_bundle_is_written_for_its_owner_twice_the_same(run: Run, demo: Path, tmp_path: Path) -> None:
    file = tmp_path / "one.json"
    ran = run("export", "--fhir", file, CASE, "--store", demo)
    assert ran.out.startswith("1 case (fictional) with ")
    assert " as a FHIR R4 bundle.\nNot in it: free text, what was withdrawn" in ran.out
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    first = file.read_bytes()
    assert run("export", "--fhir", file, CASE, "--store", demo).code == 0
    assert file.read_bytes() == first == run("export", "--fhir", "-", CASE, "--store", demo).out.encode()
    tasks = [e["resource"] for e in json.loads(first)["entry"] if e["resource"]["resourceType"] == "Task"]
    assert [task["restriction"]["period"]["end"] for task in tasks] == ["2026-03-05"]


def test_it_goes_over_no_other_file(run: Run, demo: Path, tmp_path: Path) -> None:
    file = tmp_path / "mine.json"
    file.write_text('{"resourceType": "Bundle"}')
    ran = run("export", "--fhir", file, CASE, "--store", demo)
    assert (ran.code, ran.out) == (1, "")
    assert "cannot write the bundle to" in ran.err
    assert file.read_text() == '{"resourceType": "Bundle"}'


@pytest.mark.parametrize(
    "more", [("--snomed",), ("--system", "urn:oid:2.999.1"), ("--fhir", "--system", "mine")]
)
def test_options_of_a_bundle_are_refused_elsewhere(run: Run, demo: Path, more: tuple[str, ...]) -> None:
    ran = run("export", "-", *more, "--store", demo)
    assert ran.code == 2
    assert "give --fhir too" in ran.err or '"mine" is no name of a system' in ran.err


def test_it_makes_a_case_in_a_store_without_it_once(
    run: Run, demo: Path, empty: Path, tmp_path: Path
) -> None:
    """A dry run says what would come; the same bundle again adds nothing, and what came verifies."""
    file = tmp_path / "one.json"
    written(run, demo, file)
    dry = run("load", file, "--store", empty, "--dry-run")
    assert "BY-003  new case " in dry.out
    assert entries(empty) == 0
    assert run("load", file, "--store", empty).out.startswith("1 case of one.json taken into ")
    assert codes(Store.open(empty, read_only=True)) == [CASE]
    there = entries(empty)
    again = run("load", file, "--store", empty)
    assert again.code == 0
    assert again.out.startswith("Nothing of one.json is new to ")
    assert entries(empty) == there > 40
    assert verify(Store.open(empty, read_only=True).driver).sound
    assert run("list", "--store", empty).code == 0


def test_the_store_it_was_written_from_gets_nothing_new(run: Run, demo: Path, tmp_path: Path) -> None:
    file, before = tmp_path / "one.json", entries(demo)
    written(run, demo, file)
    assert run("load", file, "--store", demo).out.startswith("Nothing of one.json is new to ")
    assert entries(demo) == before


def test_codes_of_another_system_are_other_persons(run: Run, demo: Path, empty: Path, tmp_path: Path) -> None:
    file = tmp_path / "one.json"
    made = written(run, demo, file, "--system", "urn:oid:2.999.1")
    assert PERSON not in json.dumps(made)
    ran = run("load", file, "--store", empty)
    assert "needed is one of the system urn:uuid:" in ran.err
    assert run("load", file, "--system", "urn:oid:2.999.1", "--store", empty).code == 0


def bundle(*made: dict[str, Any], fictional: bool = True) -> str:
    security = [{"system": "http://terminology.hl7.org/CodeSystem/v3-ActReason", "code": "HTEST"}]
    meta = {"meta": {"security": security}} if fictional else {}
    entry = [{"resource": one} for one in made]
    return json.dumps({"resourceType": "Bundle", **meta, "type": "collection", "entry": entry})


def flexion(value: int, code: str = "41390-6") -> dict[str, Any]:
    return {
        "resourceType": "Observation",
        "id": f"o{value}",
        "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": code}]},
        "subject": {"identifier": {"system": PERSON, "value": "P-018"}},
        "effectiveDateTime": "2026-02-27",
        "valueQuantity": {"value": value, "system": "http://unitsofmeasure.org", "code": "deg"},
        "bodySite": {"coding": [{"system": "http://snomed.info/sct", "code": "91774008"}]},
    }


def loaded(run: Run, store: Path, tmp_path: Path, text: str, *more: str) -> Ran:
    file = tmp_path / "came.json"
    file.write_text(text, encoding="utf-8")
    return run("load", file, "--store", store, *more)


def test_what_came_from_elsewhere_is_taken_and_the_rest_counted(run: Run, made: Path, tmp_path: Path) -> None:
    store = Path(shutil.copy(made, tmp_path / "demo.armrise"))
    before = entries(store)
    text = bundle(flexion(121), flexion(122, "29463-7"), {"resourceType": "Procedure"})
    ran = loaded(run, store, tmp_path, text)
    assert ran.out.startswith("1 new entry of came.json taken into ")
    assert ran.out.endswith(
        "Left out:\n      1  Observation 29463-7 of http://loinc.org\n      1  Procedure\n"
    )
    assert loaded(run, store, tmp_path, text).out.startswith("Nothing of came.json is new to ")
    assert entries(store) == before + 1


NINE = bundle(flexion(9))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param(text, said, id=said)
        for text, said in (
            (
                bundle(flexion(400)),
                "Observation/o400 (measure of 2026-02-27), valueQuantity.value: 400 is out",
            ),
            (bundle(flexion(9), fictional=False), "a real caseload is not taken into"),
            (bundle(), "holds nothing that armrise takes, it is empty."),
            (bundle({"resourceType": "Patient"}), "holds nothing that armrise takes, it is empty."),
            ('{"resourceType": "Bundle", "entry": [', "line 1 column 38 is not JSON"),
            ('{"resourceType": ' + "[" * 100_000, "lists or objects are nested too deeply"),
            (json.dumps(flexion(9)), 'resourceType: "Observation" is not allowed, allowed is "Bundle".'),
            (NINE.replace('"value": 9,', '"value": 9, "value": 8,'), '"value": is given twice'),
            (NINE.replace('"value": 9,', '"value": 1e999999999,'), "1E+999999999 is out of range"),
            (NINE.replace('"value": 9,', f'"value": {"9" * 4000},'), "(4000 digits) is out of range"),
        )
    ],
)
def test_what_cannot_be_taken_is_said_in_a_sentence(
    run: Run, demo: Path, tmp_path: Path, text: str, said: str
) -> None:
    before = entries(demo)
    ran = loaded(run, demo, tmp_path, text)
    assert (ran.code, ran.out) == (1, "")
    assert said in ran.err
    assert ran.err.count("\n") <= 2
    assert entries(demo) == before


def test_a_bundle_makes_no_store(run: Run, tmp_path: Path) -> None:
    """It names no zone, and none is guessed."""
    ran = loaded(run, tmp_path / "none.armrise", tmp_path, bundle(flexion(9)))
    assert ran.code == 1
    assert "a FHIR bundle names no zone to make one for: open armrise once" in ran.err
    assert not (tmp_path / "none.armrise").exists()


def test_what_a_bundle_carries_is_printed(run: Run) -> None:
    """Every row of the losses, each code with where it was seen; at most 80 columns but for the headings."""
    ran = run("fields", "--fhir")
    flat = " ".join(ran.out.split())
    assert all(f"{kind}: {becomes}. Lost: {lost}." in flat for kind, becomes, lost in losses())
    assert "active_flexion: LOINC 41389-8 (a draft public guide" in flat
    assert PERSON in flat
    assert all(len(line) <= 80 for line in ran.out.splitlines() if line.startswith(" "))
    assert run("fields", "visit", "--fhir").code == 2
