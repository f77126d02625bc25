"""The screens in a browser: one page, one process of the program for each page opened.

Whoever opens the page reads the caseload and writes in it, so it is given to no one without the key that the
start prints, to no other page, and it fetches nothing from anywhere else.
"""

from __future__ import annotations

import logging
import secrets
from ipaddress import ip_address
from pathlib import Path

from aiohttp import web
from aiohttp.typedefs import Handler, Middleware
from textual_serve.server import Server

from armrise.tui.command.printing import say

COOKIE = "armrise_key"
CLOSED = (
    "This page is opened by the address that armrise serve prints, with its key. Nobody else is let in: "
    "what it shows is the caseload."
)
POLICY = (
    "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self' 'unsafe-inline'; "
    "connect-src 'self' ws: wss:; img-src 'self' data:; frame-ancestors 'none'"
)
"""What the page may fetch: its own files. The terminal in it writes its colours as styles."""


class Page(Server):
    """The page at ``address`` and ``port`` that runs ``command`` for each visitor who has ``key``."""

    def __init__(self, command: str, address: str, port: int, key: str | None = None) -> None:
        host = f"[{address}]" if ":" in address else address
        super().__init__(  # pyright: ignore[reportUnknownMemberType]  # its paths are declared bare
            command,
            host=address,
            port=port,
            title="armrise",
            public_url=f"http://{host}:{port}",
            templates_path=Path(__file__).parent,
        )
        self.key = key or secrets.token_urlsafe(18)

    @property
    def entrance(self) -> str:
        """The one address that opens the page."""
        return f"{self.public_url}/?key={self.key}"

    async def guarded(self) -> web.Application:
        """The page's application: every request of it passes the guard."""
        made = await self._make_app()
        made.middlewares.append(self._guard())
        return made

    def _guard(self) -> Middleware:
        @web.middleware
        async def guard(request: web.Request, handler: Handler) -> web.StreamResponse:
            own = f"{request.scheme}://{request.host}"
            asked = request.query.get("key", "")
            if request.path == "/" and secrets.compare_digest(asked.encode(), self.key.encode()):
                entered = web.HTTPSeeOther("/")  # so that the key stays out of the address and the history
                entered.set_cookie(COOKIE, self.key, httponly=True, samesite="Strict")
                raise entered
            known = secrets.compare_digest(request.cookies.get(COOKIE, "").encode(), self.key.encode())
            if not known or request.headers.get("Origin", own) != own:
                return web.Response(status=403, text=CLOSED)
            self.public_url = own  # the page calls back where it was called from
            answer = await handler(request)
            if not answer.prepared:
                answer.headers["Content-Security-Policy"] = POLICY
                answer.headers["Cache-Control"] = "no-store"
                answer.headers["Referrer-Policy"] = "no-referrer"
            return answer

        return guard

    def initialize_logging(self) -> None:
        """Faults alone are printed."""
        logging.basicConfig(level=logging.ERROR, format="armrise: %(message)s")

    async def on_startup(self, app: web.Application) -> None:
        """Nothing is said before the page can be opened."""

    def say(self, _: str) -> None:
        """Say where the page is."""
        say(f"armrise is at {self.entrance}\nThat address is the key to it. Ctrl+C ends it.")

    def run(self) -> None:
        """Serve until Ctrl+C. Raises OSError where the port cannot be had."""
        self.initialize_logging()
        web.run_app(self.guarded(), host=self.host, port=self.port, print=self.say)


def loopback(address: str) -> bool:
    """True for an address that no other machine reaches. Raises ValueError for what is no address."""
    return address == "localhost" or ip_address(address).is_loopback
