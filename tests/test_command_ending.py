"""How a command ends without a terminal, without an output, or by words that are no text: code and sentence.

Exit codes: 128 and the number of the signal after Ctrl+C, as POSIX shells say it (POSIX.1-2017, 2.8.2).
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys

import pytest

from armrise.tui.command import main as command

PROGRAM = f"{sys.executable} -c 'from armrise.tui.command.main import main; main()'"
posix = pytest.mark.skipif(os.name != "posix", reason="redirections of a POSIX shell")


@pytest.mark.parametrize("arguments", [[], ["demo"]], ids=["own", "demo"])
def test_without_a_terminal_the_list_says_what_prints_it(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert command.run(arguments) == 2
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert "armrise list prints it as text" in err


def test_a_terminal_that_places_no_text(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "dumb")
    assert command.run([]) == 2
    assert "this terminal (TERM=dumb) can place no text" in capsys.readouterr().err


@posix
@pytest.mark.parametrize(
    ("to", "why"),
    [(">/dev/full", "no space left on device"), (">&-", "it is closed")],
    ids=["full", "closed"],
)
def test_an_output_that_takes_nothing(to: str, why: str) -> None:
    done = subprocess.run(
        ["sh", "-c", f"{PROGRAM} fields session {to}"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert f"the output cannot be written ({why})" in done.stderr


@pytest.mark.parametrize(
    "arguments", [["case", "\udcff"], ["strip", "A", "-7: \udcff"]], ids=["code", "line"]
)
def test_a_word_whose_bytes_are_no_text(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert command.run(arguments) == 2
    assert "whose bytes are no text (UTF-8)" in capsys.readouterr().err


@posix
def test_a_command_that_is_stopped_ends_with_130() -> None:
    script = (
        "import os, signal, threading\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"  # a shell's background job ignores it
        "from armrise.tui.command import main\n"
        "import armrise.tui.command.reading as reading\n"
        "def slow(*_):\n    os.kill(os.getpid(), signal.SIGINT)\n    threading.Event().wait(20)\n"
        "reading.load_rules = slow\n"
        "main.main(['list', '--demo'])\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 128 + signal.SIGINT
    assert done.stderr.split() == ["Stopped."]
