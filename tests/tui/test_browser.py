"""The screen in a browser: one real run with the real solver, and who is kept out."""

from __future__ import annotations

import asyncio
import importlib
import os
import signal
import socket
import struct
import subprocess
import sys
import zlib
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import aiohttp
import pytest
from click.testing import CliRunner

from planner.cli.group import cli
from tests.tui.browser import BROWSER, Page, opened
from tests.tui.screens import SMALL, copy_of

ROOT = Path(__file__).resolve().parents[2]
LEAVE_S = 20.0


class Served:
    """The command serving a file."""

    def __init__(self, file: Path) -> None:
        command = [sys.executable, "-m", "planner.cli", "edit", str(file), "--web"]
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
        )
        assert self.process.stdout is not None
        self.address = self.process.stdout.readline().strip()

    def interrupt(self) -> tuple[str, str]:
        """Press Ctrl-C, and give the rest of both streams."""
        self.process.send_signal(signal.SIGINT)
        return self.process.communicate(timeout=LEAVE_S)


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[Served, Path]]:
    """A copy of the small office, served."""
    file = copy_of(tmp_path)
    made = Served(file)
    yield made, file
    made.process.kill()
    made.process.communicate()


def different_rows(png: bytes) -> int:
    """Count the different rows of pixels in a PNG picture: a blank page has next to none."""
    at, data, width, channels = 8, b"", 0, 0
    while at < len(png):
        size, sort = struct.unpack(">I4s", png[at : at + 8])
        body = png[at + 8 : at + 8 + size]
        if sort == b"IHDR":
            width = struct.unpack(">I", body[:4])[0]
            channels = {2: 3, 6: 4}[body[9]]
        data += body if sort == b"IDAT" else b""
        at += 12 + size
    raw, step = zlib.decompress(data), 1 + width * channels
    return len({raw[start : start + step] for start in range(0, len(raw), step)})


async def make_physical(page: Page) -> None:
    """Find a service, say why it stays physical, and save."""
    await page.wait_for("✔ proven")
    await page.type("/")
    await page.wait_for("words to look for")
    await page.type("map-tiles")
    await page.enter()
    await page.wait_for("map-tiles")
    await page.type("p")
    await page.wait_for("stay_physical")
    await page.type("its scanner card fits no guest")
    await page.enter()
    await page.wait_for("✔ map-tiles stays physical")
    await page.wait_for("✔ proven")
    await page.type("s")
    await page.wait_for("✔ saved small-office.yaml")


@pytest.mark.slow
@pytest.mark.skipif(BROWSER is None, reason="needs a browser that runs without a window (chromium)")
def test_a_service_is_made_physical_in_a_browser(served: tuple[Served, Path], tmp_path: Path) -> None:
    """One line of the file differs, nothing was loaded from elsewhere, and what is not saved is kept."""
    server, file = served

    async def run() -> None:
        async with opened(tmp_path, server.address) as page:
            await make_physical(page)
            assert {urlsplit(url).netloc for url in page.asked} == {urlsplit(server.address).netloc}
            assert not page.complaints
            assert different_rows(await page.picture()) > 100
            await page.type("p")
            await page.wait_for("stay_physical")
            await page.type(" nor any other")
            await page.enter()
            await page.wait_for("✔ map-tiles stays physical")

    asyncio.run(run())
    old, new = SMALL.read_text("utf-8").splitlines(), file.read_text("utf-8").splitlines()
    changed = [(a, b) for a, b in zip(old, new, strict=True) if a != b]
    assert len(changed) == 1
    assert changed[0][1].endswith(", stay_physical: its scanner card fits no guest}")
    rest, said = server.interrupt()
    assert server.process.returncode == 0
    assert not rest
    beside = file.with_name("small-office-mine.yaml")
    assert f"what was not saved is in {beside}" in said
    assert "fits no guest nor any other}" in beside.read_text("utf-8")


@pytest.mark.slow
def test_strangers_are_kept_out(served: tuple[Served, Path]) -> None:
    """Another path, another name for this machine, and a page elsewhere all get nothing."""
    server, _ = served
    parts = urlsplit(server.address)

    async def run() -> None:
        async with aiohttp.ClientSession() as session:
            for path, headers, status in (
                (parts.path, {}, 200),
                ("/", {}, 404),
                ("/line", {}, 404),
                (parts.path, {"Host": f"elsewhere.example:{parts.port}"}, 403),
                (f"{parts.path}line", {}, 403),
                (f"{parts.path}line", {"Origin": "http://elsewhere.example"}, 403),
                (f"{parts.path}static/../../../pyproject.toml", {}, 404),
            ):
                async with session.get(f"http://{parts.netloc}{path}", headers=headers) as answer:
                    assert answer.status == status, (path, headers)
            async with session.get(server.address) as answer:
                text, policy = await answer.text(), answer.headers["Content-Security-Policy"]
        assert "http" not in text
        assert "default-src 'none'" in policy

    asyncio.run(run())


@pytest.mark.slow
def test_only_this_machine_is_listened_to(served: tuple[Served, Path]) -> None:
    """The socket is bound to the loopback address, not to all; each start has an address of its own."""
    server, file = served
    parts = urlsplit(server.address)
    assert parts.hostname == "127.0.0.1"
    assert parts.port is not None
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as other:
        other.settimeout(2.0)
        assert other.connect_ex(("127.0.0.2", parts.port)) != 0
    again = Served(file)
    assert urlsplit(again.address).path != parts.path
    assert len(parts.path) > 30
    again.interrupt()


def test_a_port_that_is_taken_is_told(tmp_path: Path) -> None:
    """With the number, and code 2."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        result = CliRunner().invoke(cli, ["edit", str(copy_of(tmp_path)), "--web", "--port", str(port)])
    assert result.exit_code == 2
    assert f"--port {port} cannot be served: " in result.stderr


def test_without_the_extra_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The way out is in the message."""
    importlib.import_module("tui.browser")
    monkeypatch.delitem(sys.modules, "tui.browser.server", raising=False)
    monkeypatch.setitem(sys.modules, "textual_serve", None)
    result = CliRunner().invoke(cli, ["edit", str(copy_of(tmp_path)), "--web"])
    assert result.exit_code == 2
    assert "pip install 'stillroom[web]'" in result.stderr


def test_a_port_needs_the_browser(tmp_path: Path) -> None:
    """Rather than being taken for nothing."""
    result = CliRunner().invoke(cli, ["edit", str(copy_of(tmp_path)), "--port", "8000"])
    assert result.exit_code == 2
    assert "--port goes with --web" in result.stderr


def test_a_bad_file_of_keys_is_told_before_serving(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not by a page that stays empty."""
    keys = tmp_path / "keys.yaml"
    keys.write_text("safe: f2", encoding="utf-8")
    monkeypatch.setitem(os.environ, "STILLROOM_KEYS", str(keys))
    result = CliRunner().invoke(cli, ["edit", str(copy_of(tmp_path)), "--web"])
    assert result.exit_code == 2
    assert "there is no action safe" in result.stderr
