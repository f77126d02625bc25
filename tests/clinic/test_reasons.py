"""A reason for attention is a row of the rank table and one declaration; where it stands, the table says."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.conditions import REASONS
from armrise.store.clinic.standing.rule import Found, ReasonRule
from armrise.store.clinic.standing.stand import stand
from armrise.store.rules import read as rulefile
from armrise.store.rules.figures import FIGURES
from armrise.store.rules.pathway import Rules, Stage
from tests.clinic.build import TODAY, case, rules
from tests.clinic.demo_records import demo, records


def edited(folder: Path, *pairs: tuple[str, str]) -> Path:
    """A copy of the shipped rules with other words in ``rules.toml``."""
    shutil.copytree(rulefile.SHIPPED, folder)
    path = folder / "rules.toml"
    text = path.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    path.write_text(text, encoding="utf-8")
    return folder


def test_every_row_of_the_rank_table_is_declared_and_nothing_else_is() -> None:
    assert set(rulefile.load().ranks) == set(REASONS)


def test_what_a_reason_reads_exists() -> None:
    groups = {key.partition(".")[0] for key in FIGURES}
    of_stage = {field.name for field in fields(Stage)}
    for code, rule in REASONS.items():
        assert {*rule.figures} <= groups, code
        assert {*rule.stage_figures} <= of_stage, code


def test_a_clinic_that_moves_two_reasons_sees_them_in_its_order(tmp_path: Path) -> None:
    """Ranks 23 and 24 changed places: the case with both is placed by the other one."""
    record = next(r for r in records(demo()) if r.code == "BY-081")
    shipped = stand(record, rulefile.load(), TODAY)
    assert [r.code for r in shipped.reasons] == ["STL", "PRM"]
    moved = rulefile.load(
        edited(
            tmp_path / "rules",
            ("STL  = { rank = 23,", "STL  = { rank = 24,"),
            ("PRM  = { rank = 24,", "PRM  = { rank = 23,"),
        )
    )
    found = stand(record, moved, TODAY)
    assert [(r.code, r.rank) for r in found.reasons] == [("PRM", 23), ("STL", 24)]
    assert found.placing is not None
    assert found.placing.code == "PRM"


@pytest.fixture
def one_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Rules]:
    """A reason added as "How to add" says: a row of the table, and a declaration."""

    rules()  # kept for every test: as shipped

    def condition(view: View) -> Found | None:
        done = view.upto("visits")
        return Found(1, f"seen {len(done)} times", None, (done[-1].id,)) if done else None

    row = 'NEW  = { rank = 27, tier = "move on", name = "seen" }\n'
    do = '[[do]]\nreason = "NEW"\nsteps = [{ say = "review", act = "review" }]\n'
    do += 'source = "this test"\nstatus = "design"\n\n'
    folder = edited(tmp_path / "rules", ("WAT  = {", f"{row}WAT  = {{"), ("[[do]]", f"{do}[[do]]"))
    monkeypatch.setattr(rulefile, "SHIPPED", folder)
    monkeypatch.setitem(
        REASONS, "NEW", ReasonRule(condition=condition, counts="nothing", hold_hides=True, figures=("ready",))
    )
    rulefile._shipped.cache_clear()
    yield rulefile.load()
    rulefile._shipped.cache_clear()


def test_a_reason_is_added_by_its_row_and_its_declaration(one_more: Rules) -> None:
    found = stand(case("RC2", day=30).record(), one_more, TODAY).reasons[-1]
    assert (found.code, found.name, found.rank, found.tier) == ("NEW", "seen", 27, "move on")
    assert found.evidence
    assert found.days_open > 0
    answered = case("RC2", day=30).in_hand(-1, "seen", 5)
    (again,) = (r for r in stand(answered.record(), one_more, TODAY).reasons if r.code == "NEW")
    assert again.in_hand
    held = stand(case("RC2", day=30).hold(-1, 5).record(), one_more, TODAY)
    assert "NEW" not in [r.code for r in held.reasons]
