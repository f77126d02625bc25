"""What to do about a reason, as data: every refusal, and a clinic's older rules without it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from armrise.store.rules import read as rulefile
from armrise.store.rules.do import ACTS
from armrise.store.rules.folder.place import EARLIER
from armrise.store.rules.folder.signature import read_files
from armrise.store.rules.read import RuleFileError, load
from armrise.store.rules.rows import pick, rows
from armrise.store.rules.upgrade.merge import upgraded
from armrise.tui.case.act_keys import TAKEN_BY

RULES = load()
WAT = 'reason = "WAT"\nsteps = [\n    { say = "measure again at the next visit", act = "measures" },\n]\n'


def changed(folder: Path, old: str, new: str) -> str:
    """What is said of the shipped rules after one change."""
    shutil.copytree(rulefile.SHIPPED, folder)
    path = folder / "rules.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(RuleFileError) as caught:
        load(folder)
    return str(caught.value)


def test_every_reason_has_its_rows_the_last_for_every_case_and_every_act_its_key() -> None:
    assert set(RULES.do) == set(RULES.ranks)
    for offered in RULES.do.values():
        assert [row.always for row in offered] == [False] * (len(offered) - 1) + [True]
    assert set(TAKEN_BY) == set(ACTS)
    shown = pick(rows(RULES), "what to do")
    assert len(shown) == sum(map(len, RULES.do.values()))
    assert all(row.source and row.status for row in shown)
    watch = next(row for row in shown if row.name == "range to watch")
    assert watch.value == (
        "measure again at the next visit (measures); at a visit today: measure again (measures)"
    )


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (f"[[do]]\n{WAT}", f"[[do]]\nbooked = true\n{WAT}", "rules.toml, do: lacks WAT, needed is"),
        (
            'visit", act = "measures" },\n]\nat_visit',
            'visit", act = "score" },\n]\nat_visit',
            "act: is 'score'",
        ),
        (WAT, WAT.replace("visit", "{visit}"), "say: holds a brace, allowed is only {loads}"),
        (WAT, f"{WAT}colour = 1\n", "WAT, colour: is not known here"),
        (WAT, 'reason = "WAT"\nsteps = []\n', "WAT, steps: holds 0, needed are one to 3"),
        (WAT, WAT.replace('say = "measure again at the next visit", ', ""), "say: is missing"),
        (WAT, f'reason = "WET"\n{WAT.partition(chr(10))[2]}', "reason: is 'WET', allowed is one of"),
        (WAT, f'verdict = "READY"\n{WAT}', "WAT, verdict: is 'READY', allowed is one of REFER,"),
        ('reason = "LTR"', 'reason = "PRM"', "PRM, reason: is 'PRM' after a row for every case"),
    ],
)
def test_what_does_not_hold_together_is_refused(tmp_path: Path, old: str, new: str, says: str) -> None:
    assert says in changed(tmp_path / "rules", old, new)


def test_a_row_without_a_status_is_refused(tmp_path: Path) -> None:
    old = f'{WAT}at_visit = {{ say = "measure again", act = "measures" }}\nsource = "common practice"\n'
    said = changed(tmp_path / "rules", f'{old}status = "common practice"\n', old)
    assert "WAT, status: is missing" in said


@pytest.mark.parametrize("base", ["1", "2"])
def test_a_clinics_older_rules_are_completed_with_what_to_do(tmp_path: Path, base: str) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(EARLIER / base, folder)
    rules = load(folder)
    assert rules.do == RULES.do
    assert "rules.toml, do FLA" in rules.completed
    assert "rules.toml, do FLA (2)" in rules.completed


def test_an_upgrade_keeps_what_the_clinic_wrote_itself() -> None:
    """The clinic's own words for one reason stand when the shipped rules come to say something else."""
    shipped = read_files(rulefile.SHIPPED)
    own = {**shipped, "rules.toml": shipped["rules.toml"].replace("message or phone", "message first", 1)}
    made = upgraded(own, shipped, "2")
    assert 'say = "message first"' in made.files["rules.toml"]
