"""Where the rules come from: versions in the clinic's own folder, adoption, signature, no silent fallback.

Practice note 6.4 (an unsigned version says so on every verdict), 8 no. 15 (a signature line, versions).
"""

from __future__ import annotations

import shutil
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from armrise.store.rules.folder import signature as rulesign
from armrise.store.rules.folder.versions import ADOPTED, SHIPPED_WORD, OwnRules, load_in_force, write_whole
from armrise.store.rules.read import SHIPPED, load
from armrise.store.rules.table import RuleFileError

NOW = datetime(2026, 3, 2, 8, 5, tzinfo=UTC)
DAY = date(2026, 3, 2)


@pytest.fixture
def own(tmp_path: Path) -> OwnRules:
    """The clinic's own folder with a copy of the shipped rules, not adopted."""
    made = OwnRules(tmp_path / "rules")
    assert made.copy(NOW) == "4"
    return made


def change(own: OwnRules, version: str, name: str, old: str, new: str) -> None:
    path = own.path(version) / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def refused(call: object, *arguments: object) -> str:
    with pytest.raises(RuleFileError) as caught:
        call(*arguments)  # type: ignore[operator]
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_without_own_rules_the_shipped_ones_hold(tmp_path: Path) -> None:
    own = OwnRules(tmp_path / "rules")
    assert own.load_in_force().origin == "shipped with the program"
    assert not (tmp_path / "rules").exists()
    assert own.adoptions() == ()


def test_a_copy_is_the_next_version_unsigned_with_its_remarks_and_not_in_force(own: OwnRules) -> None:
    copied = (own.path("4") / "rules.toml").read_text(encoding="utf-8")
    shipped = (SHIPPED / "rules.toml").read_text(encoding="utf-8")
    assert copied == shipped.replace('version = "3"', 'version = "4"')
    for path in SHIPPED.glob("*.toml"):
        if path.name != "rules.toml":
            assert (own.path("4") / path.name).read_bytes() == path.read_bytes()
    assert own.load_in_force().version == "3"
    assert own.copy(NOW) == "5"
    assert own.versions() == ("4", "5")


def test_an_adopted_version_is_in_force_and_earlier_ones_can_be_read(own: OwnRules) -> None:
    change(own, "4", "RC.toml", "minimum = { days = 14,", "minimum = { days = 10,")
    own.adopt("4", NOW + timedelta(days=1))
    rules = own.load_in_force()
    assert (rules.version, rules.pathways["RC"].stages[1].minimum.whole) == ("4", 10)
    assert own.load(SHIPPED_WORD).pathways["RC"].stages[1].minimum.whole == 14
    own.adopt(SHIPPED_WORD, NOW + timedelta(days=3))
    assert own.load_in_force().version == "3"
    told = [((adoption.at - NOW).days, adoption.version) for adoption in own.adoptions()]
    assert told == [(0, SHIPPED_WORD), (1, "4"), (3, SHIPPED_WORD)]


def test_a_copy_of_an_adopted_version_carries_its_numbers(own: OwnRules) -> None:
    change(own, "4", "RC.toml", "minimum = { days = 14,", "minimum = { days = 10,")
    own.adopt("4", NOW)
    own.sign("4", "A. Lead", DAY)
    assert own.copy(NOW) == "5"
    rules = own.load("5")
    assert (rules.signed, rules.sign_off) == (False, "NOT SIGNED OFF")
    assert rules.pathways["RC"].stages[1].minimum.whole == 10


def test_a_folder_that_does_not_hold_together_never_falls_back(own: OwnRules) -> None:
    change(own, "4", "RC.toml", "minimum = { days = 14,", 'minimum = { days = "ten",')
    say = refused(own.adopt, "4", NOW)
    expected = (
        "version 4, RC.toml, stage RC2, minimum, days: is 'ten', allowed is a whole number from 0 to 3660."
    )
    assert say == expected
    assert own.load_in_force().version == "3", "what was refused is not in force"
    change(own, "4", "RC.toml", 'days = "ten"', "days = 14")
    own.adopt("4", NOW)
    change(own, "4", "RC.toml", "minimum = { days = 14,", 'minimum = { days = "ten",')
    assert refused(own.load_in_force) == expected
    assert refused(own.copy, NOW) == expected


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda own: (own.folder / ADOPTED).unlink(), "holds version 4 and no adopted.txt"),
        (
            lambda own: (own.folder / ADOPTED).write_text("yesterday 2 x"),
            "adopted.txt, line 1: is 'yesterday 2 x'",
        ),
        (lambda own: (own.folder / ADOPTED).write_text(f"{NOW.isoformat()} two x"), "adopted.txt, line 1"),
        (lambda own: (own.folder / ADOPTED).write_text("2026-03-02T08:00:00 2 x"), "adopted.txt, line 1"),
        (lambda own: (own.folder / ADOPTED).write_bytes(b"\xff\xfe2"), "adopted.txt: cannot be read"),
        (lambda own: shutil.rmtree(own.folder / "4"), "version '4': is not in"),
        (
            lambda own: change(own, "4", "rules.toml", 'version = "4"', 'version = "7"'),
            "allowed is the name of",
        ),
        (lambda own: (own.folder / "4" / "FS.toml").unlink(), "version 4, FS.toml: is missing"),
    ],
)
def test_what_is_in_force_is_said_or_refused(own: OwnRules, spoil: object, says: str) -> None:
    own.adopt("4", NOW)
    spoil(own)  # type: ignore[operator]
    assert says in refused(own.load_in_force)


def test_a_folder_asked_for_by_name_has_to_be_there_and_hold_rules(tmp_path: Path) -> None:
    assert "is not there" in refused(load_in_force, tmp_path / "nowhere")
    (tmp_path / "empty").mkdir()
    assert "holds no rules" in refused(load_in_force, tmp_path / "empty")
    shutil.copytree(SHIPPED, tmp_path / "one")
    assert load_in_force(tmp_path / "one").version == "3"
    for write in (
        OwnRules(tmp_path / "one", True).copy,
        lambda now: OwnRules(tmp_path / "one").adopt("4", now),
    ):
        assert "is one version of the rules" in refused(write, NOW)
    OwnRules(tmp_path / "many", True).copy(NOW)
    assert load_in_force(tmp_path / "many").version == "3"


def test_an_edit_after_adoption_is_said(own: OwnRules) -> None:
    own.adopt("4", NOW)
    assert own.load_in_force().sign_off == "NOT SIGNED OFF"
    change(own, "4", "RC.toml", "minimum = { days = 14,", "minimum = { days = 10,")
    assert own.load_in_force().sign_off == "NOT SIGNED OFF, changed since adopted"


# --- signature ----------------------------------------------------------------------------------------------


def test_a_signature_stands_for_what_was_signed(own: OwnRules) -> None:
    own.adopt("4", NOW)
    assert own.sign("4", " A. Lead ", DAY).sign_off == "signed off by A. Lead on 2026-03-02"
    assert own.load_in_force().stamp == "4 signed off by A. Lead on 2026-03-02"
    path = own.path("4") / "RC.toml"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert own.load_in_force().signed, "line ends are no change"
    change(own, "4", "RC.toml", "Settle", "Calm")
    rules = own.load_in_force()
    assert rules.sign_off == "NOT SIGNED OFF, changed since signed"
    assert not rules.signed
    assert own.sign("4", "A. Lead", DAY).signed, "signed anew, what is there now is signed"


def test_the_digest_covers_every_file_and_not_the_signature() -> None:
    files = rulesign.read_files(SHIPPED)
    before = rulesign.digest(files)
    signed = {**files, "rules.toml": rulesign.as_signed(files["rules.toml"], 'A. "Q" Lead', DAY, before)}
    assert rulesign.digest(signed) == before
    for name, text in files.items():
        assert rulesign.digest({**files, name: text + "# a remark\n"}) != before
        assert rulesign.digest({other: files[other] for other in files if other != name}) != before


def test_only_own_rules_in_force_and_unsigned_are_signed(own: OwnRules) -> None:
    assert "the shipped rules are in force" in refused(own.to_sign)
    own.adopt("4", NOW)
    assert "is not in force" in refused(own.sign, "5", "A. Lead", DAY)
    assert "name: is ''" in refused(own.sign, "4", " ", DAY)
    own.sign("4", "A. Lead", DAY)
    assert "is signed off by A. Lead on 2026-03-02 already" in refused(own.to_sign)


def test_rules_that_do_not_hold_together_are_not_signed(own: OwnRules) -> None:
    own.adopt("4", NOW)
    change(own, "4", "OA.toml", 'code = "OA1"', 'code = "XX"')
    before = (own.path("4") / "rules.toml").read_bytes()
    assert "OA.toml" in refused(own.sign, "4", "A. Lead", DAY)
    assert (own.path("4") / "rules.toml").read_bytes() == before


def test_a_long_name_is_cut_in_the_stamp_and_never_the_date(own: OwnRules) -> None:
    own.adopt("4", NOW)
    stamp = own.sign("4", "N" * 80, DAY).stamp
    assert len(stamp) == 60
    assert stamp.endswith("N on 2026-03-02")


# --- whole or not at all ----------------------------------------------------------------------------------


def test_a_copy_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own = OwnRules(tmp_path / "rules")
    written: list[Path] = []

    def failing(path: Path, text: str) -> None:
        if len(written) == 3:
            raise OSError("disk full")
        written.append(path)
        write_whole(path, text)

    monkeypatch.setattr("armrise.store.rules.folder.versions.write_whole", failing)
    with pytest.raises(OSError, match="disk full"):
        own.copy(NOW)
    assert list((tmp_path / "rules").iterdir()) == []


def test_a_write_that_fails_keeps_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "adopted.txt"
    write_whole(path, "before\n")

    def failing(_from: str, _to: Path) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("armrise.store.files.whole.os.replace", failing)
    with pytest.raises(OSError, match="disk full"):
        write_whole(path, "after\n")
    assert [p.name for p in tmp_path.iterdir()] == ["adopted.txt"]
    assert path.read_text() == "before\n"


def test_the_shipped_rules_are_as_loaded_by_themselves(tmp_path: Path) -> None:
    assert OwnRules(tmp_path).load(SHIPPED_WORD).pathways == load().pathways
