"""A clinic's own older rules: what they lack comes as shipped, and how they are brought up to date.

Practice note 93, last sentence. The folders are made as the first released version made them by its copy.
"""

from __future__ import annotations

import shutil
import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from armrise.store.rules import read as rulefile
from armrise.store.rules.folder.place import EARLIER, earlier_versions
from armrise.store.rules.folder.signature import as_signed, as_version, digest, of_folder, read_files
from armrise.store.rules.folder.versions import ADOPTED, OwnRules
from armrise.store.rules.read import load, shipped_version
from armrise.store.rules.rows import rows
from armrise.store.rules.table import RuleFileError
from armrise.store.rules.upgrade.blocks import blocks, text_of
from armrise.store.rules.upgrade.folder import Upgrade, upgrade

NOW = datetime(2026, 12, 1, 8, 0, tzinfo=UTC)
STEP = "minimum = { days = 14,"
"""RC2 stays at least this long."""
GOOD = 'text = "3 good sessions in a row"\ngood = 3'
"""RC1 asks for so many good sessions."""


def older(folder: Path, *edits: tuple[str, str, str]) -> OwnRules:
    """The clinic's folder as the first version left it: copied as version 2, edited, adopted and signed."""
    files = read_files(EARLIER / "1")
    files["rules.toml"] = as_version(files["rules.toml"], "2")
    for name, old, new in edits:
        assert old in files[name], old
        files[name] = files[name].replace(old, new, 1)
    files["rules.toml"] = as_signed(files["rules.toml"], "A. Lead", date(2026, 3, 2), digest(files))
    (folder / "2").mkdir(parents=True)
    for name, text in files.items():
        (folder / "2" / name).write_text(text, encoding="utf-8")
    (folder / ADOPTED).write_text(f"2026-03-02T08:00:00+00:00 2 {digest(files)}\n", encoding="utf-8")
    return OwnRules(folder)


def brought_up(own: OwnRules) -> Upgrade:
    return upgrade(own, NOW)


# --- the parts of a file ------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", sorted(rulefile.SHIPPED.glob("*.toml")), ids=lambda path: path.name)
def test_a_file_taken_apart_and_put_together_is_the_same(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    found = blocks(text)
    assert text_of(found) == text
    assert len({block.address for block in found}) == len(found)


def test_entries_of_a_list_are_found_by_what_they_are_called() -> None:
    text = (
        '[[stage]]\ncode = "A1"\n[stage.limits]\nx = 1\n[[stage.exit]]\ntext = "b"\n[[stage]]\ncode = "A2"\n'
    )
    again = '[[stage.exit]]\ntext = "b"\n[[stage.exit]]\ntext = "b"\n'
    assert [block.address for block in blocks(text + again)] == [
        (),
        ("stage A1",),
        ("stage A1", "limits"),
        ("stage A1", "exit b"),
        ("stage A2",),
        ("stage A2", "exit b"),
        ("stage A2", "exit b (2)"),
    ]


# --- an older folder as it is -------------------------------------------------------------------------------


def test_every_earlier_version_is_kept_and_the_shipped_rules_say_their_own() -> None:
    assert earlier_versions() == tuple(str(n) for n in range(1, int(shipped_version())))
    head = tomllib.loads((rulefile.SHIPPED / "rules.toml").read_text(encoding="utf-8"))
    assert head["made_from"] == head["version"] == shipped_version()


def test_an_older_folder_is_completed_listed_and_no_longer_signed(tmp_path: Path) -> None:
    own = older(tmp_path / "rules", ("RC.toml", STEP, "minimum = { days = 10,"))
    rules = own.load_in_force()
    assert rules.pathways["RC"].stages[1].minimum.whole == 10
    assert (rules.signed_by, rules.signed) == ("A. Lead", False)
    assert rules.sign_off == "NOT SIGNED OFF, completed from the shipped rules"
    for part in (
        "rules.toml, figures, visit",
        "rules.toml, figures, screen, question days",
        "rules.toml, trigger weak",
        "rules.toml, screen item unrelenting night pain",
        "RC.toml, lift rule from",
        "PO.toml, trigger wound late",
        "PO.toml, stage PO1, exit wound dry, fresh days",
        "exercises.toml, ladder lift",
        "exercises.toml, exercise wall walk",
    ):
        assert part in rules.completed
    assert rules["visit.once_rise"] == load()["visit.once_rise"]
    assert [one.key for one in rules.pathways["AD"].triggers] == [
        one.key for one in load().pathways["AD"].triggers
    ]


def test_what_an_older_folder_states_stays_as_it_is(tmp_path: Path) -> None:
    """Only what is missing comes: its sling and its freshness in days alone are those of the older files."""
    rules = older(tmp_path / "rules").load_in_force()
    sling = rules.pathways["PO"].sling_until_day
    assert sling is not None
    assert sling.whole == 27
    pain = rules.measures["rest_pain"]
    assert (pain.stale_days.whole, pain.stale_extra, pain.stale_cap) == (14, None, None)


def test_a_finding_that_an_older_folder_left_out_never_goes_stale_there(tmp_path: Path) -> None:
    own = older(
        tmp_path / "rules", ("OA.toml", 'finding = "self-managing"', 'finding = "contact or overhead sport"')
    )
    rules = own.load_in_force()
    assert "contact or overhead sport" in rules.finding_lasts
    assert "rules.toml, finding stale, contact or overhead sport" in rules.completed
    assert rules.finding_stale_days["apprehension accepted"].whole == 28, "as shipped: ruling 92"


def test_an_urgency_the_clinic_chose_is_kept_in_the_new_form(tmp_path: Path) -> None:
    own = older(
        tmp_path / "rules",
        (
            "rules.toml",
            '"trauma and cannot lift to 90 degrees" = { value = 2, source = "Exeter',
            '"trauma and cannot lift to 90 degrees" = { value = 3, source = "this clinic; Exeter',
        ),
    )
    item = own.load_in_force().screen_items["trauma and cannot lift to 90 degrees"]
    assert (item.severity, item.source[:12], item.lead) == (3, "this clinic;", "seen in the next days")


def test_good_sessions_of_an_older_folder_are_asked_once_and_as_the_clinic_asks(tmp_path: Path) -> None:
    """Their criterion was called "in a row": it is the same one, not a second beside it."""
    own = older(tmp_path / "rules", ("RC.toml", GOOD, GOOD.replace("good = 3", "good = 4")))
    exits = own.load_in_force().pathways["RC"].stages[0].exit
    assert [(one.text, one.good) for one in exits if one.kind == "sessions"] == [("3 good sessions", 4)]
    made = brought_up(own)
    exits = own.load(made.version).pathways["RC"].stages[0].exit
    assert [(one.text, one.good) for one in exits if one.kind == "sessions"] == [("3 good sessions", 4)]


def test_an_older_folder_that_lacks_what_its_version_had_is_refused_as_before(tmp_path: Path) -> None:
    own = older(tmp_path / "rules", ("RC.toml", "early_look = {", "# early_look = {"))
    assert own.load_in_force().pathways["RC"].early_look is None
    (tmp_path / "rules" / "2" / "FS.toml").unlink()
    with pytest.raises(RuleFileError, match=r"FS\.toml: is missing"):
        own.load_in_force()


def test_a_clinic_that_took_things_out_still_has_rules(tmp_path: Path) -> None:
    """What newer parts name and the clinic does not have is left out of them."""
    own = older(
        tmp_path / "rules",
        ("exercises.toml", 'name = "table slide"', 'name = "slide on the table"'),
        ("exercises.toml", 'name = "wall slide"\n', 'name = "wall slide"   # four sets here\n'),
        (
            "exercises.toml",
            'equipment = "wall and cloth"\nsets = 2',
            'equipment = "wall and cloth"\nsets = 4',
        ),
        ("FS.toml", 'code = "FS1"', 'code = "FS0"'),
        ("FS.toml", 'stages = ["FS1"]', 'stages = ["FS0"]'),
    )
    rules = own.load_in_force()
    lift = next(one for one in rules.ladders if one.name == "lift")
    assert lift.rungs[0] == "wall walk"
    slide = next(one for one in rules.exercises if one.name == "wall slide")
    assert (slide.sets, slide.sets_high, slide.climb) == (4, None, "")
    assert rules.pathways["FS"].measure_range == ("FS2",)


def test_a_clinics_order_of_reasons_is_kept_with_the_new_ones_in_their_tiers(tmp_path: Path) -> None:
    own = older(
        tmp_path / "rules",
        ("rules.toml", 'STL  = { rank = 15, tier = "move on"', 'STL  = { rank = 16, tier = "move on"'),
        ("rules.toml", 'PRM  = { rank = 16, tier = "move on"', 'PRM  = { rank = 15, tier = "move on"'),
    )
    order = list(own.load_in_force().ranks)
    assert order.index("PRM") < order.index("STL")
    assert set(order) == set(rulefile.codes())
    assert order[:3] == ["RED", "INJ", "LIM"]


def test_nobody_signs_for_parts_that_are_not_in_the_files(tmp_path: Path) -> None:
    own = older(tmp_path / "rules")
    with pytest.raises(RuleFileError, match="armrise rules upgrade"):
        own.to_sign()


def test_rules_newer_than_the_program_are_refused(tmp_path: Path) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(rulefile.SHIPPED, folder)
    text = (folder / "rules.toml").read_text(encoding="utf-8")
    made = f'made_from = "{shipped_version()}"'
    (folder / "rules.toml").write_text(text.replace(made, 'made_from = "99"', 1), encoding="utf-8")
    with pytest.raises(RuleFileError, match=r"rules\.toml, made_from: is '99', allowed is one of 1, "):
        load(folder)


# --- brought up to date -------------------------------------------------------------------------------------


def test_an_untouched_copy_becomes_the_shipped_rules(tmp_path: Path) -> None:
    own = older(tmp_path / "rules")
    made = brought_up(own)
    assert (made.before, made.version, made.conflicts) == ("2", "4", ())
    assert rows(own.load("4")) == rows(load())
    assert not own.load("4").completed
    assert own.load("4").sign_off == "NOT SIGNED OFF"
    for path in rulefile.SHIPPED.glob("*.toml"):
        if path.name != "rules.toml":
            assert (own.path("4") / path.name).read_text("utf-8") == path.read_text("utf-8"), (
                "remarks and all"
            )


def test_what_the_clinic_changed_stays_and_what_it_left_is_taken(tmp_path: Path) -> None:
    own = older(
        tmp_path / "rules",
        ("RC.toml", STEP, "minimum = { days = 10,"),
        ("rules.toml", "acceptable = { points = 20, source", "acceptable = { points = 25, source"),
    )
    before = of_folder(own.path("2"))
    made = brought_up(own)
    rules = own.load("4")
    assert rules.pathways["RC"].stages[1].minimum.whole == 10, "the shipped one did not change"
    sling = rules.pathways["PO"].sling_until_day
    assert sling is not None
    assert sling.whole == 41, "ruling 83, left alone by the clinic"
    assert rules.instruments["SPADI"].acceptable is not None
    assert rules.instruments["SPADI"].acceptable.value == 25
    assert made.conflicts == (
        "rules.toml, instruments, SPADI, acceptable: shipped 20 -> 30, the clinic's 25 kept",
    )
    assert of_folder(own.path("2")) == before
    in_force = own.in_force()
    assert in_force is not None
    assert in_force.version == "2", "nothing is put in force by it"


def test_what_the_clinic_added_or_took_out_stays_so(tmp_path: Path) -> None:
    own_exercise = (
        '\n[[exercise]]\nname = "towel slide"   # ours\nload_class = "A1"\nequipment = "towel"\nsets = 1\n'
        'reps = 10\nsource = "this clinic"\nstatus = "design"\n'
    )
    heading = '[[exercise]]\nname = "scaption raise"'
    own = older(
        tmp_path / "rules",
        ("exercises.toml", heading, f"{own_exercise.lstrip()}\n{heading}"),
        ("exercises.toml", "per_week = 3\n", ""),
    )
    made = brought_up(own)
    found = {one.name: one for one in own.load("4").exercises}
    assert "towel slide" in found
    assert 'name = "towel slide"   # ours' in (own.path("4") / "exercises.toml").read_text("utf-8")
    assert found["side-lying external rotation"].per_week is None
    place = "exercises.toml, exercise side-lying external rotation"
    assert made.conflicts == (
        f"{place}, sets high: new, and left out because the clinic changed the rest of it",
        f"{place}, per week: taken out by the clinic, and left out",
    )


def test_an_upgrade_that_does_not_hold_together_leaves_nothing(tmp_path: Path) -> None:
    own = older(tmp_path / "rules", ("rules.toml", "most_days = { days = 14,", "most_days = { days = 7,"))
    text = (own.path("2") / "rules.toml").read_text("utf-8")
    (own.path("2") / "rules.toml").write_text(
        text.replace("baseline = { points = 8,", "baseline = { points = 80,"), encoding="utf-8"
    )
    with pytest.raises(RuleFileError, match="version 2, "):
        brought_up(own)
    assert own.versions() == ("2",)


def test_there_is_nothing_to_upgrade_in_the_shipped_rules_or_in_their_copy(tmp_path: Path) -> None:
    own = OwnRules(tmp_path / "rules")
    with pytest.raises(RuleFileError, match="shipped rules are in force"):
        brought_up(own)
    own.adopt(own.copy(NOW), NOW)
    with pytest.raises(RuleFileError, match="there is nothing to upgrade"):
        brought_up(own)
