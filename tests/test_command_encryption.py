"""``armrise encrypt``, ``decrypt`` and ``passphrase``, and every other command at an encrypted store."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from armrise.store.database.encrypted import file, keys
from armrise.store.database.place import Store
from armrise.store.exchange.into.caseload_file import demo_path
from armrise.tui.command import main as command
from armrise.tui.command.store import asking
from tests.encrypted import PASSPHRASE, cheap_keys, encrypt, needs_the_extra, readable

__all__ = ["cheap_keys"]
OTHER = "five other words than those"


@pytest.fixture(autouse=True)
def _begun_anew(cheap_keys: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What will be typed at the terminal, in its order; what was asked goes into ``typed.asked``."""
    answers: list[str] = []
    monkeypatch.setattr(asking, "has_terminal", lambda: True)
    monkeypatch.setattr(asking.getpass, "getpass", lambda prompt: answers.pop(0))
    return answers


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command as from a new start: code, what it printed, what it refused."""

    def call(*arguments: object) -> tuple[int, str, str]:
        keys._held.clear()
        capsys.readouterr()
        code = command.run([str(a) for a in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return code, out, err

    return call


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Path:
    return shutil.copy(made, tmp_path / "clinic.armrise")


@needs_the_extra
def test_a_store_is_encrypted_given_another_passphrase_and_decrypted(
    store: Path, typed: list[str], run: Any
) -> None:
    typed[:] = [PASSPHRASE, PASSPHRASE]
    code, out, _ = run("encrypt", "--store", store)
    (aside,) = store.parent.glob("clinic.before-encryption-*.armrise")
    assert code == 0
    assert f"{store} is encrypted now, and opens by the passphrase alone." in out
    assert "Both files hold 36 cases and 2,363 entries, the chain ends in " in out
    assert "Still readable by anybody who gets hold of it, with the whole record:" in out
    assert f"  {aside}\n" in out
    assert "A lost passphrase opens nothing" in out
    assert PASSPHRASE not in out

    typed[:] = [PASSPHRASE, OTHER, OTHER]
    code, out, _ = run("passphrase", "--store", store)
    assert (code, typed) == (0, [])
    assert "opens by the new passphrase now" in out
    assert "So do backups taken before." in out
    typed[:] = [PASSPHRASE, OTHER]
    code, out, err = run("list", "--store", store)
    assert code == 0
    assert "BY-018" in out
    assert "wrong passphrase, or the file is damaged" in err

    typed[:] = [OTHER]
    code, out, _ = run("decrypt", "--store", store)
    assert code == 0
    assert "is a plain file now: whoever may read it reads the record" in out
    assert readable(store.parent, "BY-018").keys() == {store.name, aside.name}
    assert run("decrypt", "--store", store)[2].endswith("is not encrypted: armrise encrypt does it\n")


@pytest.fixture
def encrypted(empty: Path) -> Path:
    """A store without a case, encrypted."""
    return encrypt(empty)


@needs_the_extra
@pytest.mark.parametrize("name", ["list", "due", "audit", "views"])
def test_a_command_asks_once_at_the_terminal_and_refuses_without_one(
    name: str, encrypted: Path, typed: list[str], run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed[:] = [PASSPHRASE, "not asked for a second time"]
    code, out, err = run(name, "--store", encrypted)
    assert (code, err) == (0, "")
    assert out
    assert len(typed) == 1
    monkeypatch.setattr(asking, "has_terminal", lambda: False)
    code, out, err = run(name, "--store", encrypted)
    assert (code, out) == (1, "")
    assert err == "armrise: there is no terminal to ask for the passphrase at: give the command at one\n"


@needs_the_extra
def test_a_caseload_is_taken_into_an_encrypted_store(
    encrypted: Path, typed: list[str], run: Any, tmp_path: Path
) -> None:
    typed[:] = [PASSPHRASE]
    code, out, _ = run("load", demo_path(), "--store", encrypted)
    assert (code, out.startswith("36 cases")) == (0, True)
    assert not readable(tmp_path, "BY-018")


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    return Store.create(tmp_path / "empty.armrise", zone="Europe/London", fictional=True).path


@needs_the_extra
@pytest.mark.parametrize(
    ("answers", "said"),
    [
        (["short"], "passphrase: at least 15 characters, 5 typed"),
        ([PASSPHRASE, OTHER], "passphrase: the two are not the same, type both again"),
    ],
)
def test_a_passphrase_that_is_not_taken_changes_nothing(
    answers: list[str], said: str, empty: Path, typed: list[str], run: Any
) -> None:
    before = empty.read_bytes()
    typed[:] = answers
    code, _, err = run("encrypt", "--store", empty)
    assert code == 1
    assert said in err
    assert empty.read_bytes() == before
    assert not list(empty.parent.glob("*before*"))


def test_without_the_extra_one_sentence_says_what_to_install(
    empty: Path, run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(file, "_library", lambda: None)
    code, out, err = run("encrypt", "--store", empty)
    assert (code, out) == (1, "")
    assert err == f"armrise: encrypted stores need one more package: {file.HOW_TO_INSTALL}\n"


@pytest.mark.skipif(os.name != "posix", reason="a terminal is made by pty, which Windows has not")
def test_what_is_typed_is_not_shown_and_comes_from_the_terminal() -> None:
    import pty

    script = (
        "from armrise.tui.command.store.asking import at_the_terminal\nprint(len(at_the_terminal('Words: ')))"
    )
    ours, theirs = pty.openpty()
    child = subprocess.Popen(
        [sys.executable, "-c", f"import fcntl, termios\nfcntl.ioctl(2, termios.TIOCSCTTY, 0)\n{script}"],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=theirs,
        start_new_session=True,
    )
    os.close(theirs)
    shown = os.read(ours, 100)
    os.write(ours, PASSPHRASE.encode() + b"\n")
    printed, _ = child.communicate(timeout=60)
    shown += os.read(ours, 100)
    os.close(ours)
    assert printed.strip() == str(len(PASSPHRASE)).encode()
    assert shown.replace(b"\r\n", b"") == b"Words: "
