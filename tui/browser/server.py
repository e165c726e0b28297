"""Serves the screen to a browser: on the loopback address only, under an address that nobody can guess.

Each page opened has a process of its own with the screen in it, as a terminal would.
"""

from __future__ import annotations

import asyncio
import contextlib
import secrets
import shlex
import signal
import socket
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path

import textual_serve
from aiohttp import web
from jinja2 import Environment, PackageLoader
from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager
from textual_serve.server import Server

from tui.start import own_keys

HOST = "127.0.0.1"
OWN_NAMES = (HOST, "localhost")
STATIC = Path(textual_serve.__path__[0]) / "static"
LEAVE_S = 5.0
FONT_SIZES = range(8, 33)
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class BrowserServer(Server):
    """Gives out the page, what it needs, and the line to a screen; refuses whoever comes from elsewhere."""

    def __init__(self, file: Path, time_s: float) -> None:
        words = [sys.executable, "-m", "tui", str(file), str(time_s)]
        super().__init__(f"exec {shlex.join(words)}", host=HOST, title=f"Stillroom: {file.name}")
        self.base = f"/{secrets.token_urlsafe(24)}"
        self.services: set[AppService] = set()
        loader = Environment(loader=PackageLoader("tui.browser", "."), autoescape=True)
        self.page = loader.get_template("page.html.j2")

    def application(self) -> web.Application:
        """Lay out the addresses, all below one that is made anew at each start."""
        made = web.Application(middlewares=[refuse_strangers])
        made.add_routes(
            [
                web.get(f"{self.base}/", self.give_page),
                web.get(f"{self.base}/page.js", give_script),
                web.get(f"{self.base}/line", self.give_line),
                web.static(f"{self.base}/static", STATIC),
            ]
        )
        made.on_shutdown.append(self._close_all)
        return made

    async def give_page(self, request: web.Request) -> web.Response:
        """Find the page; it loads nothing from anywhere else."""
        asked = request.query.get("fontsize", "")
        size = int(asked) if asked.isdecimal() and int(asked) in FONT_SIZES else 16
        line = f"ws://{request.host}{self.base}/line"
        text = self.page.render(title=self.title, base=self.base, line=line, size=size)
        return web.Response(text=text, content_type="text/html", headers=_rules(request.host))

    async def give_line(self, request: web.Request) -> web.WebSocketResponse:
        """Open a screen, and carry keys to it and its pictures back, until either side ends."""
        if request.headers.get("Origin") != f"http://{request.host}":
            raise web.HTTPForbidden(text="this line is for the page of the same address")
        line = web.WebSocketResponse(heartbeat=15)
        await line.prepare(request)
        service = AppService(
            self.command,
            write_bytes=_drawing(line),
            write_str=line.send_str,
            close=_closing(line),
            download_manager=DownloadManager(),
        )
        self.services.add(service)
        try:
            await service.start(_whole(request, "width", 80), _whole(request, "height", 24))
            await self._process_messages(line, service)
        finally:
            await self._close(service)
        return line

    async def _close(self, service: AppService) -> None:
        """End a screen, which keeps beside the file what was not saved."""
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(service.stop(), LEAVE_S)
        self.services.discard(service)

    async def _close_all(self, application: web.Application) -> None:
        del application
        await asyncio.gather(*(self._close(service) for service in tuple(self.services)))


async def give_script(request: web.Request) -> web.FileResponse:
    """Find the page's own script."""
    del request
    return web.FileResponse(Path(__file__).with_name("page.js"))


def _drawing(line: web.WebSocketResponse) -> Callable[[bytes], Awaitable[None]]:
    """Send what is drawn while anybody looks; after that the screen still has its last words to say."""

    async def draw(data: bytes) -> None:
        if not line.closed:
            with contextlib.suppress(ConnectionError, RuntimeError):
                await line.send_bytes(data)

    return draw


def _closing(line: web.WebSocketResponse) -> Callable[[], Awaitable[None]]:
    async def close() -> None:
        await line.close()

    return close


def _whole(request: web.Request, name: str, usual: int) -> int:
    value = request.query.get(name, "")
    return int(value) if value.isdecimal() and 0 < int(value) < 10_000 else usual


def _rules(host: str) -> dict[str, str]:
    """Tell the browser to load from here alone, to show the page in no other, and to hand the address on to
    nobody.
    """
    policy = (
        f"default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; font-src 'self'; "
        f"img-src 'self' data:; connect-src 'self' ws://{host}; base-uri 'none'; frame-ancestors 'none'"
    )
    return {
        "Content-Security-Policy": policy,
        "Referrer-Policy": "no-referrer",
        "X-Content-Type-Options": "nosniff",
        "Cache-Control": "no-store",
    }


@web.middleware
async def refuse_strangers(request: web.Request, handler: Handler) -> web.StreamResponse:
    """Refuse requests that were sent to another name, as a page elsewhere could make a browser do."""
    if request.url.host not in OWN_NAMES:
        raise web.HTTPForbidden(text="this address is served to this machine alone")
    return await handler(request)


def serve(file: Path, time_s: float, port: int, tell: Callable[[str], None]) -> None:
    """Serve until interrupted; ``tell`` gets the address once it answers.

    Raises OSError when the port is taken, StartError when the file of keys cannot be used.
    """
    own_keys()
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as opened:
        opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        opened.bind((HOST, port))
        asyncio.run(_serve(BrowserServer(file, time_s), opened, tell))


async def _serve(server: BrowserServer, opened: socket.socket, tell: Callable[[str], None]) -> None:
    runner = web.AppRunner(server.application(), access_log=None, shutdown_timeout=LEAVE_S)
    await runner.setup()
    over = asyncio.Event()
    for sort in (signal.SIGINT, signal.SIGTERM):
        asyncio.get_running_loop().add_signal_handler(sort, over.set)
    try:
        await web.SockSite(runner, opened).start()
        tell(f"http://{HOST}:{opened.getsockname()[1]}{server.base}/")
        # What a screen says at its end is for people, and stdout is for data.
        with contextlib.redirect_stdout(sys.stderr):
            await over.wait()
    finally:
        with contextlib.redirect_stdout(sys.stderr):
            await runner.cleanup()
