"""``armrise serve``: who is let in, what the page fetches, and that the program answers through it."""

from __future__ import annotations

import asyncio
import re
import shlex
import signal
import subprocess
import sys
from asyncio.subprocess import PIPE
from collections.abc import Iterable
from pathlib import Path

import pytest
from aiohttp import ClientSession, CookieJar, WSMsgType
from aiohttp.test_utils import TestClient, TestServer, unused_port

from armrise.tui.command.main import run
from armrise.tui.command.serve import program
from armrise.tui.command.web import CLOSED, Page, loopback

KEY = "k" * 24


def page(command: str = "unused") -> Page:
    return Page(command, "127.0.0.1", 8080, KEY)


@pytest.mark.parametrize("address", ["localhost", "127.0.0.1", "127.3.2.1", "::1"])
def test_this_machine_alone(address: str) -> None:
    assert loopback(address)


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "10.0.0.7", "fe80::1", "192.0.2.1"])
def test_another_address_is_refused_and_why(address: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["serve", "--address", address]) == 2
    said = capsys.readouterr().err
    assert f"--address: {address} can be reached by other machines" in said
    assert "--beyond-this-machine" in said


def test_what_is_no_address_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["serve", "--address", "the clinic"]) == 2
    assert "--address: 'the clinic' is no address" in capsys.readouterr().err


def test_without_the_extra_one_sentence_says_how_to_have_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("armrise.tui.command.serve.find_spec", lambda name: None)
    assert run(["serve"]) == 1
    assert "pip install 'armrise[browser]'" in capsys.readouterr().err


def test_a_port_in_use_is_one_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def taken(page: Page) -> None:
        raise OSError(98, "address already in use")

    monkeypatch.setattr(Page, "run", taken)
    assert run(["serve", "--port", "8080"]) == 1
    assert "--port: 8080 of 127.0.0.1 cannot be had (address already in use)" in capsys.readouterr().err


@pytest.mark.skipif(sys.platform == "win32", reason="a shell of its own")
def test_what_a_page_runs_is_what_the_command_line_would(tmp_path: Path) -> None:
    odd = tmp_path / "rules of a; clinic"
    words = shlex.split(program(True, "TK", odd))
    assert words[-5:] == ["--author", "TK", "--rules", str(odd.resolve()), "demo"]
    told = subprocess.run([*words[:3], "--version"], capture_output=True, text=True, check=True)
    assert told.stdout.startswith("armrise ")


async def test_nobody_without_the_key_and_no_other_page_is_let_in() -> None:
    async with TestClient(TestServer(await page().guarded())) as client:
        for path in ("/", "/?key=guess", "/?key=", "/ws", "/static/js/textual.js", "/download/x"):
            answer = await client.get(path)
            assert (answer.status, await answer.text()) == (403, CLOSED), path
        entered = await client.get("/", params={"key": KEY}, allow_redirects=False)
        assert (entered.status, entered.headers["Location"]) == (303, "/")
        assert re.search("HttpOnly.*SameSite=Strict", entered.headers["Set-Cookie"])
        assert (await client.get("/")).status == 200
        assert (await client.get("/ws", headers={"Origin": "http://elsewhere.invalid"})).status == 403


async def test_the_page_fetches_nothing_from_anywhere_else() -> None:
    async with TestClient(TestServer(await page().guarded())) as client:
        answer = await client.get("/", params={"key": KEY})
        own, told = str(client.make_url("/")), await answer.text()
        assert "armrise" in told
        asked = _fetched(told)
        assert len(asked) >= 4
        assert all(one.startswith((own, own.replace("http", "ws"), "data:", "/")) for one in asked)
        assert "default-src 'self'" in answer.headers["Content-Security-Policy"]
        for one in asked:
            if one.startswith(own):
                assert (await client.get(one.removeprefix(own.rstrip("/")))).status == 200, one


def _fetched(told: str) -> list[str]:
    found: Iterable[tuple[str, ...]] = re.findall(r'(?:href|src|url)="([^"]*)"|url\("([^"]*)"\)', told)
    return [one or other for one, other in found]


async def test_the_demo_answers_through_the_page_until_it_is_ended() -> None:
    serve = [*shlex.split(program(False, None, None)), "serve", "--demo", "--port", str(unused_port())]
    served = await asyncio.create_subprocess_exec(*serve, stdout=PIPE)
    assert served.stdout is not None
    async with asyncio.timeout(60), ClientSession(cookie_jar=CookieJar(unsafe=True)) as visitor:
        entrance = (await served.stdout.readline()).decode().removeprefix("armrise is at ").strip()
        async with visitor.get(entrance) as answer:
            assert answer.status == 200
            at = answer.url
        async with visitor.ws_connect((at / "ws") % {"width": 80, "height": 24}) as line:
            shown = b""
            while b"BY-007" not in shown:
                message = await line.receive()
                assert message.type in (WSMsgType.BINARY, WSMsgType.TEXT), shown
                shown += message.data if isinstance(message.data, bytes) else b""
        assert b"FICTIONAL CASELOAD" in shown
        served.send_signal(signal.SIGINT)
        assert await served.wait() == 0
