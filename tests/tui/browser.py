"""A real browser without a window, driven over its debugging line (the open DevTools protocol)."""

from __future__ import annotations

import asyncio
import base64
import os
import re
import shutil
import signal
import subprocess
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import aiohttp

NAMES = ("chromium-headless-shell", "chromium", "chromium-browser")
BROWSER = next((found for name in NAMES if (found := shutil.which(name))), None)
PATIENCE_S = 60.0
COLOURS = re.compile(r"\x1b\[[0-9;]*m")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--enable-unsafe-swiftshader",
    "--window-size=1100,700",
    "--remote-debugging-port=0",
)


class Page:
    """A page under control: what it asked for, what came over its line, and keys to press."""

    def __init__(self, line: aiohttp.ClientWebSocketResponse) -> None:
        self._line = line
        self._count = 0
        self._answers: dict[int, asyncio.Future[Any]] = {}
        self.asked: list[str] = []
        self.received = ""
        self.complaints: list[str] = []

    async def listen(self) -> None:
        """Take what the browser tells, until it goes."""
        async for message in self._line:
            told = message.json()
            if "id" in told:
                self._answers.pop(told["id"]).set_result(told.get("result"))
                continue
            self._note(told.get("method", ""), told.get("params", {}))

    def _note(self, method: str, params: dict[str, Any]) -> None:
        if method == "Network.requestWillBeSent":
            self.asked.append(params["request"]["url"])
        elif method == "Network.webSocketCreated":
            self.asked.append(params["url"])
        elif method == "Network.webSocketFrameReceived":
            frame = params["response"]
            raw = base64.b64decode(frame["payloadData"]) if frame["opcode"] == 2 else b""
            self.received += COLOURS.sub("", raw.decode("utf-8", "replace"))
        elif method == "Runtime.exceptionThrown":
            self.complaints.append(str(params["exceptionDetails"]))
        elif method == "Log.entryAdded" and params["entry"]["level"] == "error":
            self.complaints.append(params["entry"]["text"])

    async def call(self, method: str, **params: Any) -> Any:
        """Ask the browser for something."""
        self._count += 1
        answer: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        self._answers[self._count] = answer
        await self._line.send_json({"id": self._count, "method": method, "params": params})
        return await asyncio.wait_for(answer, PATIENCE_S)

    async def evaluate(self, expression: str) -> Any:
        """Make the value of an expression on the page."""
        found = await self.call("Runtime.evaluate", expression=expression, returnByValue=True)
        return found["result"].get("value")

    async def type(self, text: str) -> None:
        """Type a text, key by key."""
        for character in text:
            await self.call("Input.dispatchKeyEvent", type="char", text=character)

    async def enter(self) -> None:
        """Press Enter."""
        key = {"key": "Enter", "code": "Enter", "windowsVirtualKeyCode": 13}
        await self.call("Input.dispatchKeyEvent", type="rawKeyDown", **key)
        await self.call("Input.dispatchKeyEvent", type="keyUp", **key)

    async def wait_for(self, text: str) -> None:
        """Wait until a text comes over the line; what came before it is forgotten."""
        for _ in range(int(PATIENCE_S / 0.05)):
            if text in self.received:
                self.received = self.received.partition(text)[2]
                return
            await asyncio.sleep(0.05)
        raise AssertionError(f"never saw {text!r}: {self.complaints} {self.received[-2000:]!r}")

    async def picture(self) -> bytes:
        """Make a PNG picture of the page."""
        found = await self.call("Page.captureScreenshot", format="png")
        return base64.b64decode(found["data"])


@asynccontextmanager
async def opened(folder: Path, address: str) -> AsyncIterator[Page]:
    """Open an address in a browser of its own."""
    assert BROWSER is not None
    profile = folder / "profile"
    command = [BROWSER, *FLAGS, f"--user-data-dir={profile}", "about:blank"]
    null = subprocess.DEVNULL
    process = subprocess.Popen(command, stdout=null, stderr=null, start_new_session=True)
    try:
        port = await _port(profile / "DevToolsActivePort")
        async with aiohttp.ClientSession() as session:
            async with session.get(f"http://127.0.0.1:{port}/json/list") as answer:
                target = next(item for item in await answer.json() if item["type"] == "page")
            async with session.ws_connect(target["webSocketDebuggerUrl"], max_msg_size=0) as line:
                page = Page(line)
                listener = asyncio.create_task(page.listen())
                for part in ("Network", "Page", "Runtime", "Log"):
                    await page.call(f"{part}.enable")
                await page.call("Page.navigate", url=address)
                yield page
                listener.cancel()
    finally:
        # What stands under the browser's name may be a script that starts it: all of its session ends.
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


async def _port(told: Path) -> int:
    for _ in range(int(PATIENCE_S / 0.1)):
        lines = told.read_text("utf-8").split() if told.is_file() else []
        if lines:
            return int(lines[0])
        await asyncio.sleep(0.1)
    raise AssertionError("the browser did not open its debugging line")
