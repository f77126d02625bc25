"""A caseload file: what it may hold, what is refused with which sentence, and that nothing is half taken."""

from __future__ import annotations

import json
import sys
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.store.exchange.into.caseload_file import CaseloadRefused, parse, read, shift
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.plan import Hold
from armrise.store.rules.read import load

RULES = load()
T = date(2026, 3, 2)
LONDON = ZoneInfo("Europe/London")


def case(*entries: Any, code: str = "C-1", **more: Any) -> dict[str, Any]:
    head = {"code": code, "person": f"P-{code}", "side": "LEFT", "pathway": "RC", "registered": -60}
    return head | more | {"entries": list(entries)}


def file(*cases: Any, **more: Any) -> dict[str, Any]:
    top = {"format": "armrise caseload 1", "clinic_date": "2026-03-02", "zone": "Europe/London"}
    return top | {"fictional": True, "clinic": "A slipway", "cases": list(cases)} | more


VISIT = {"kind": "visit", "on": -50, "interval": 21}
PLACING = {"kind": "step", "on": -50, "stage": "RC2", "direction": "placing"}


def refused(data: Any) -> list[str]:
    with pytest.raises(CaseloadRefused) as caught:
        parse(data, "test.json", RULES)
    return [str(fault) for fault in caught.value.faults]


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "caseload.json"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def refused_text(folder: Path, text: str | bytes) -> str:
    with pytest.raises(CaseloadRefused) as caught:
        read(written(folder, text), RULES)
    return str(caught.value)


# what is taken


def test_a_file_is_read_with_offsets_and_iso_dates(tmp_path: Path):
    dated = {"kind": "visit", "on": "2026-02-20", "author": "TK"}
    read_file = read(written(tmp_path, json.dumps(file(case(VISIT, PLACING, dated)))), RULES)
    assert (read_file.clinic_date, read_file.zone, read_file.fictional) == (T, "Europe/London", True)
    found = read_file.cases[0]
    assert found.head.registered_on == T - timedelta(days=60)
    assert [entry.on for entry in found.entries] == [T - timedelta(days=50)] * 2 + [date(2026, 2, 20)]
    assert all(entry.id == 0 for entry in found.entries)


def test_an_empty_caseload_is_a_caseload():
    assert parse(file(), "x", RULES).cases == ()


def test_recorded_is_the_evening_unless_it_is_said():
    entries = (
        VISIT | {"recorded": -49},
        VISIT | {"on": -40, "recorded": "2026-02-01"},
        VISIT | {"on": -30, "recorded": "2026-02-01T23:30:00-05:00"},
        {"kind": "session", "on": -3, "morning": 2},
    )
    found = parse(file(case(*entries)), "x", RULES).cases[0].entries
    assert [e.recorded_on for e in found] == [
        date(2026, 1, 12),
        date(2026, 2, 1),
        date(2026, 2, 2),
        date(2026, 2, 28),
    ]
    assert found[1].recorded_at == datetime(2026, 2, 1, 18, tzinfo=LONDON)


def test_a_correction_points_at_labels():
    entries = (
        {"kind": "measure", "on": -5, "name": "active_flexion", "value": 90, "label": "wrong"},
        {"kind": "measure", "on": -5, "name": "active_flexion", "value": 120, "label": "right"},
        {"kind": "correction", "on": -4, "corrects": "wrong", "replaced_by": "right", "reason": "wrong side"},
    )
    fix = parse(file(case(*entries)), "x", RULES).cases[0].entries[2]
    assert isinstance(fix, Correction)
    assert (fix.corrects, fix.replaced_by) == (1, 2)


def test_both_shoulders_of_a_person_are_two_cases():
    # practice note, 4.13 case 1
    both = [case(code="C-1", person="P-1"), case(code="C-2", person="P-1", side="RIGHT")]
    assert len(parse(file(*both), "x", RULES).cases) == 2
    same = [case(code="C-1", person="P-1"), case(code="C-2", person="P-1")]
    assert any(
        "the LEFT of person P-1 has another case that is not discharged" in s for s in refused(file(*same))
    )


def test_a_red_flag_of_the_other_shoulder_is_open_for_both():
    flag = {"kind": "screen", "on": -3, "item": "hot or swollen joint, or unwell", "answer": "yes"}
    end = {"kind": "discharge", "on": -1, "outcome": "goal met"}
    cases = [case(flag, person="P-1"), case(end, code="C-2", person="P-1", side="RIGHT")]
    assert any("no discharge while the red flag" in sentence for sentence in refused(file(*cases)))


# what is refused


def test_all_faults_of_a_file_are_found_at_once():
    cases = (
        case({"kind": "session", "on": -2, "during": 11}, {"kind": "visit", "on": 3}, code="C-1", side="L"),
        case({"kind": "step", "on": -2, "stage": "RC2", "direction": "forward"}, code="C-2"),
        case({"kind": "vist", "on": -2}, "text", code="C-3"),
        case(code="C-4", pathway="ZZ"),
    )
    found = refused(file(*cases))
    for say in (
        'case C-1, side: "L" is not allowed, allowed is one of "LEFT", "RIGHT".',
        "case C-1, entry 1 (session of 2026-02-28), during: 11 is out of range",
        "case C-2, entry 1 (step of 2026-02-28), direction:",
        'case C-3, entry 1, kind: "vist" is no kind of entry, did you mean "visit"',
        'case C-3, entry 2: an entry has to be an object, found "text"',
        'case C-4, pathway: "ZZ" is no pathway of the rule files',
    ):
        assert any(say in sentence for sentence in found), say


def test_an_entry_is_named_by_number_label_kind_and_date():
    labelled = {"kind": "session", "on": -2, "during": 11, "label": "after hauling"}
    (found,) = refused(file(case(VISIT, labelled)))
    assert found.startswith('case C-1, entry 2 "after hauling" (session of 2026-02-28), during: 11 is out of')


@pytest.mark.parametrize(
    ("change", "say"),
    [
        (
            {"format": "armrise caseload 3"},
            'format: "armrise caseload 3" is not allowed, allowed is one of "armrise',
        ),
        ({"zone": "Europe/Atlantis"}, 'zone: "Europe/Atlantis" is no time zone, allowed is the name of'),
        ({"zone": None}, "zone: null is no time zone"),
        ({"zone": "../../etc/passwd"}, "is no time zone"),
        ({"clinic_date": "2026-02-30"}, 'clinic_date: "2026-02-30" is no day of the calendar'),
        ({"clinic_date": 0}, "clinic_date: 0 is no ISO date"),
        ({"fictional": "yes"}, 'fictional: "yes" is neither true nor false'),
        ({"clinic": 7}, "clinic: 7 is no text"),
        ({"cases": {}}, "cases: an object is no list of cases"),
        ({"case": []}, 'case: "case" is no field of a caseload file, did you mean "cases"'),
    ],
)
def test_a_wrong_frame_is_refused(change: dict[str, Any], say: str):
    assert any(say in sentence for sentence in refused(file() | change)), refused(file() | change)


@pytest.mark.parametrize("data", [[], "armrise", 7, None])
def test_what_is_no_object_is_refused_with_one_fault(data: Any):
    (found,) = refused(data)
    assert "the file has to be an object, found" in found


@pytest.mark.parametrize(
    # What a machine is set to, and names without a place or a region: from memory of the zone database.
    "zone",
    ["localtime", "posixrules", "Factory", "EST", "GB", "GMT0", "posix/Europe/London", "right/Europe/London",
     "/etc/localtime", "Europe/../localtime", "europe/london", "America/Argentina", "Europe/London\n", ""],
)  # fmt: skip
def test_a_zone_that_is_no_region_is_refused(zone: str):
    (found,) = refused(file(zone=zone))
    assert 'is no time zone, allowed is the name of a region such as "Europe/London", or "UTC"' in found


@pytest.mark.parametrize("zone", ["UTC", "Europe/London", "America/Argentina/Buenos_Aires", "Etc/GMT+5"])
def test_a_region_is_a_zone(zone: str):
    assert parse(file(zone=zone), "x", RULES).zone == zone


@pytest.mark.parametrize(
    ("cases", "say"),
    [
        (
            [case(), case(code="C-2"), case()],
            'code: "C-1" is given to 2 cases (1 and 3 of the file), each needs its own',
        ),
        ([case(), {"person": "P"}], "case 2 of the file, code: is missing, needed is 1 to 24 letters"),
        ([case(code=7)], "case 1 of the file, code: 7 is no case code, allowed is 1 to 24 letters"),
        ([case(code="")], 'case 1 of the file, code: "" is no case code'),
        ([case(), case(code="A1\n")], 'case 2 of the file, code: "A1<U+000A>" is no case code'),
        ([case(), case(code="A 1", side="L")], 'case 2 of the file, side: "L" is not allowed'),
        ([case(code="two words")], 'code: "two words" is no case code'),
        ([case(person=None)], "case C-1, person: is missing"),
        ([case(registered="2026-04-01")], "case C-1, registered: 2026-04-01 is after the clinic date"),
        ([case(age_band="old")], 'age_band: "old" is not allowed, allowed is one of "under 16"'),
        ([case(name="Ann")], 'case C-1, name: "name" is no field of a case'),
        ([case() | {"entries": "none"}], 'case C-1, entries: "none" is no list of entries'),
        (["C-1"], 'case 1 of the file: a case has to be an object, found "C-1"'),
        ([case({"on": 0})], 'entry 1, kind: is missing, needed is one of "visit", "session"'),
        ([case({"kind": None})], "entry 1, kind: is missing"),
        ([case({"kind": "", "on": 0})], 'entry 1, kind: "" is no kind of entry'),
        ([case({"kind": 5, "on": 0})], "entry 1, kind: 5 is no kind of entry"),
        ([case({"kind": ["visit"], "on": 0})], "entry 1, kind: a list is no kind of entry"),
        ([case(VISIT | {"label": 5})], "entry 1, label: 5 is no label"),
        (
            [case(VISIT | {"label": "a"}, VISIT | {"label": "a"})],
            'entry 2 "a", label: "a" already names entry 1',
        ),
        (
            [case({"kind": "correction", "on": -1, "corrects": "a", "reason": "typo"})],
            'corrects: "a" is no label of an entry of this case',
        ),
        (
            [case({"kind": "correction", "on": -1, "corrects": 1, "reason": "typo"})],
            "corrects: 1 is no label of an entry of this case",
        ),
        ([case(VISIT | {"id": 4})], 'id: "id" is no field of a visit'),
        (
            [case(VISIT | {"recorded_at": "x"})],
            '"recorded_at" is no field of a visit, did you mean "recorded"',
        ),
    ],
)
def test_a_wrong_case_is_refused(cases: list[Any], say: str):
    found = refused(file(*cases))
    assert any(say in sentence for sentence in found), found


def test_a_file_that_is_not_there(tmp_path: Path):
    with pytest.raises(CaseloadRefused) as caught:
        read(tmp_path / "none.json", RULES)
    assert "cannot be read (No such file or directory), check the path." in str(caught.value)
    with pytest.raises(CaseloadRefused, match="cannot be read"):
        read(tmp_path, RULES)


def test_broken_text_is_refused_with_its_place(tmp_path: Path):
    assert "byte 12 is not UTF-8, save the file as UTF-8" in refused_text(tmp_path, b'{"format": "\xff"}')
    assert "line 2 column 1 is not JSON" in refused_text(tmp_path, '{"format": 1,\n]')
    trailing = (
        "line 1 column 13" if sys.version_info >= (3, 13) else "line 2 column 1"
    )  # the comma, the brace
    assert f"{trailing} is not JSON" in refused_text(tmp_path, '{"format": 1,\n}')
    assert "is not JSON" in refused_text(tmp_path, "")
    assert "NaN is no number" in refused_text(tmp_path, '{"format": NaN}')
    assert "nested too deeply" in refused_text(tmp_path, "[" * 100_000)
    assert "nothing of it was taken" in refused_text(tmp_path, '{"format": 1' + "0" * 5000 + "}")


def test_a_number_of_thousands_of_digits_is_refused_in_its_place(tmp_path: Path):
    text = json.dumps(file(case({"kind": "measure", "on": -3, "name": "worst_pain", "value": 77123})))
    digits = "9" * 5000
    found = refused_text(tmp_path, text.replace("77123", digits))
    assert found.splitlines()[1] == (
        f"case C-1, entry 1 (measure of 2026-02-27), value: {digits[:20]}... (5000 digits) is out of range, "
        "allowed for worst_pain is 0 to 10."
    )
    assert "on: -9999" in refused_text(tmp_path, text.replace("-3", f"-{digits}"))


@pytest.mark.parametrize(
    ("entry", "say"),
    [
        # practice note, 3.0: the range of each measure and score
        ({"name": "passive_external_rotation", "value": -21}, "passive_external_rotation is -20 to 110"),
        ({"name": "active_flexion", "value": 201}, "active_flexion is 0 to 180"),
        ({"name": "abduction_strength", "value": 300, "unit": "grade 0-5"}, "grades is 0 to 5"),
        ({"kind": "score", "instrument": "WOSI", "total": 2101}, "WOSI is 0 to 2100"),
        ({"kind": "score", "instrument": "OSS", "total": -11}, "OSS is 0 to 48"),
        (
            {"kind": "target", "measure": "active_flexion", "value": 999, "reason": "goal"},
            "flexion is 0 to 180",
        ),
    ],
)
def test_a_number_far_out_is_told_its_own_range(entry: dict[str, Any], say: str):
    (found,) = refused(file(case({"kind": "measure", "on": -3} | entry)))
    assert "is out of range, allowed for " in found
    assert say in found


def test_a_number_far_out_of_nothing_known_is_told_the_general_range():
    found = refused(file(case({"kind": "measure", "on": -3, "name": "shrug", "value": 201})))
    assert any("value: 201 is out of range, allowed is a number from -20 to 200" in say for say in found)


def test_a_code_given_twice_is_one_fault():
    (found,) = refused(file(case(VISIT), case(VISIT)))
    assert 'code: "C-1" is given to 2 cases' in found


def test_a_file_name_cannot_drive_the_terminal(tmp_path: Path):
    path = tmp_path / "a\x7fb\x1b[31m\n.json"
    path.write_text("[]")
    with pytest.raises(CaseloadRefused) as caught:
        read(path, RULES)
    assert str(caught.value).splitlines() == [
        "a<U+007F>b<U+001B>[31m<U+000A>.json is refused, nothing of it was taken.",
        "the file has to be an object, found a list.",
    ]


def test_a_byte_order_mark_is_no_fault(tmp_path: Path):
    assert read(written(tmp_path, b"\xef\xbb\xbf" + json.dumps(file()).encode()), RULES).cases == ()


def test_a_key_given_twice_is_refused_wherever_it_stands(tmp_path: Path):
    head = '"code": "C-1", "person": "P", "side": "LEFT", "pathway": "RC", "registered": -60'
    item = '{"exercise": "row", "load_class": "R1", "sets": 3, "sets": 2}'
    session = f'{{"kind": "session", "on": -2, "during": 1, "during": 9, "items": [{item}]}}'
    frame = '"clinic_date": "2026-03-02", "zone": "UTC", "zone": "UTC"'
    text = f'{{"format": "armrise caseload 1", {frame}, "cases": []}}'
    assert '"zone": is given twice' in refused_text(tmp_path, text)
    frame = '"clinic_date": "2026-03-02", "zone": "UTC"'
    one = f'{{{head}, "side": "RIGHT", "entries": [{session}]}}'
    text = f'{{"format": "armrise caseload 1", {frame}, "cases": [{one}]}}'
    found = refused_text(tmp_path, text)
    for key in ('"side"', '"during"', '"sets"'):
        assert f"{key}: is given twice in one object" in found


def test_at_most_fifty_faults_are_printed(tmp_path: Path):
    bad = [{"kind": "session", "on": -2, "during": 11}] * 60
    with pytest.raises(CaseloadRefused) as caught:
        parse(file(case(*bad)), "test.json", RULES)
    assert len(caught.value.faults) == 60
    lines = str(caught.value).splitlines()
    assert lines[0] == "test.json is refused, nothing of it was taken."
    assert len(lines) == 52
    assert lines[-1] == "and 10 more."


# moving a caseload to another clinic date


def test_every_date_moves_by_the_same_days():
    entries = (
        PLACING,
        {"kind": "hold", "on": -3, "until": 9, "reason": "holiday", "recorded": -2},
        {"kind": "orders", "on": -30, "stage2_from": -20, "sling_until": 4},
    )
    before = parse(file(case(*entries)), "x", RULES)
    to = date(2026, 11, 25)
    after = shift(before, to)
    by = to - T
    assert after.clinic_date == to
    assert after.cases[0].head.registered_on == before.cases[0].head.registered_on + by
    for old, new in zip(before.cases[0].entries, after.cases[0].entries, strict=True):
        for spec in ("on", "recorded_on", "until", "stage2_from", "sling_until"):
            value = getattr(old, spec, None)
            assert getattr(new, spec, None) == (value + by if value else None)
    hold = after.cases[0].entries[1]
    assert isinstance(hold, Hold)
    assert hold.until == date(2026, 12, 4)


def test_a_move_across_the_clock_change_keeps_the_hour_and_the_date():
    # practice note, 4.13 case 5: date arithmetic only
    late = {"kind": "visit", "on": -1, "recorded": "2026-03-01T23:30:00+00:00"}
    moved = shift(parse(file(case(late)), "x", RULES), date(2026, 7, 2)).cases[0].entries[0]
    assert moved.recorded_on == date(2026, 7, 1)
    assert moved.recorded_at.astimezone(LONDON).isoformat() == "2026-07-01T23:30:00+01:00"


def test_a_moved_caseload_keeps_everything_else():
    session = {"kind": "session", "on": -3, "during": 2, "items": [{"exercise": "row", "load_class": "R1"}]}
    before = parse(file(case(session)), "x", RULES)
    assert shift(before, T) == before
    moved = shift(before, T + timedelta(days=365)).cases[0].entries[0]
    assert isinstance(moved, Session)
    assert moved.items == before.cases[0].entries[0].items  # type: ignore[attr-defined]


# whatever somebody types


SMALL = file(
    case(
        VISIT | {"label": "a"},
        PLACING,
        {
            "kind": "session",
            "on": -3,
            "during": 2,
            "items": [{"exercise": "row", "load_class": "R1", "sets": 3}],
        },
        {"kind": "measure", "on": -3, "name": "passive_flexion", "value": 90, "recorded": -2},
        {"kind": "hold", "on": -3, "until": 9, "reason": "holiday"},
        {"kind": "correction", "on": -1, "corrects": "a", "reason": "typo"},
    )
)

json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.decimals()
    | st.text(max_size=12)
    | st.sampled_from(["2026-02-30", "not asked", "PROHIBITED", "all", -(10**30), "\ud800", "\0"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=5,
)


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(found for key, part in inner for found in places(part, (*path, key)))]


def changed(value: Any, path: tuple[Any, ...], new: Any) -> Any:
    if not path:
        return new
    copy = dict(value) if isinstance(value, dict) else list(value)
    copy[path[0]] = changed(value[path[0]], path[1:], new)
    return copy


@settings(max_examples=150, deadline=None)
@given(path=st.sampled_from(places(SMALL)), new=json_values)
def test_any_value_anywhere_is_taken_or_refused_in_printable_sentences(path: tuple[Any, ...], new: Any):
    sentences: list[str] = []
    try:
        parse(changed(SMALL, path, new), "test.json", RULES)
    except CaseloadRefused as refusal:
        sentences = [str(fault) for fault in refusal.faults] or ["\0"]
    assert all(sentence.isprintable() for sentence in sentences), sentences


def test_a_device_is_no_caseload() -> None:
    """One sentence, and no reading without an end."""
    with pytest.raises(CaseloadRefused, match="no ordinary file"):
        read(Path("/dev/zero"))


def test_a_huge_file_is_refused_unread(tmp_path: Path) -> None:
    """A sparse file of a gigabyte costs nothing to make and would cost all memory to read."""
    path = tmp_path / "huge.json"
    with path.open("wb") as file:
        file.truncate(2**30)
    with pytest.raises(CaseloadRefused, match="larger than 64 MB"):
        read(path)


def test_a_future_date_is_told_beside_the_entry_s_other_faults() -> None:
    """All faults at once: a wrong score does not keep a wrong date from being named."""
    data = {
        "format": "armrise caseload 1",
        "clinic_date": "2026-03-02",
        "zone": "Europe/London",
        "cases": [
            {
                "code": "C-01",
                "person": "P-01",
                "side": "LEFT",
                "pathway": "RC",
                "registered": -9,
                "entries": [{"kind": "session", "on": 1, "during": 11}],
            }
        ],
    }
    with pytest.raises(CaseloadRefused) as refused:
        parse(data, "one.json")
    fields = {fault.field for fault in refused.value.faults}
    assert {"during", "on"} <= fields
