"""A real browser for tests, driven by WebDriver (W3C); it loads local files only."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.request import ProxyHandler, Request, build_opener

import pytest

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync",
         "--window-size=1000,1400")  # fmt: skip

needs_browser = pytest.mark.skipif(
    not (BROWSER and DRIVER),
    reason="needs chromium and chromedriver: apt-get install chromium chromium-driver",
)


class Browser:
    """An open browser."""

    def __init__(self, port: int) -> None:
        self._root = f"http://127.0.0.1:{port}/session"
        self._opener = build_opener(ProxyHandler({}))
        wanted = {
            "browserName": "chrome",
            "goog:chromeOptions": {"binary": BROWSER, "args": list(FLAGS)},
            "goog:loggingPrefs": {"browser": "ALL"},
        }
        self._root += "/" + self._ask("POST", "", {"capabilities": {"alwaysMatch": wanted}})["sessionId"]

    def open(self, file: Path) -> None:
        """Open a file."""
        self._ask("POST", "/url", {"url": file.resolve().as_uri()})

    def visit(self, address: str) -> None:
        """Open an address on this machine."""
        assert address.startswith("http://127.0.0.1:")
        self._ask("POST", "/url", {"url": address})

    def run(self, script: str) -> Any:
        """Run a script in the page and return what it returns; the page's own policy does not bind it."""
        return self._ask("POST", "/execute/sync", {"script": script, "args": []})

    def ask_devtools(self, command: str, **parameters: object) -> Any:
        """Ask the browser's inspector."""
        return self._ask("POST", "/goog/cdp/execute", {"cmd": command, "params": parameters})

    def console(self) -> list[dict[str, Any]]:
        """Return what the browser wrote to its console since the last time."""
        found: list[dict[str, Any]] = self._ask("POST", "/se/log", {"type": "browser"})
        return found

    def close(self) -> None:
        """Close it."""
        self._ask("DELETE", "", None)

    def _ask(self, method: str, path: str, body: Mapping[str, object] | None) -> Any:
        data = None if body is None else json.dumps(body).encode()
        request = Request(
            self._root + path, data=data, method=method, headers={"Content-Type": "application/json"}
        )
        with self._opener.open(request, timeout=60) as answer:
            return json.load(answer)["value"]


@contextmanager
def opened() -> Iterator[Browser]:
    """Yield a browser; it and its driver end with the context."""
    assert DRIVER
    with tempfile.TemporaryDirectory() as home:
        environment = {**os.environ, "HOME": home, "DBUS_SESSION_BUS_ADDRESS": "disabled:"}
        driver = subprocess.Popen(
            [DRIVER, "--port=0"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            env=environment,
        )
        try:
            browser = Browser(_port(driver))
            try:
                yield browser
            finally:
                browser.close()
        finally:
            driver.terminate()
            driver.communicate()


def _port(driver: subprocess.Popen[str]) -> int:
    assert driver.stdout
    for line in driver.stdout:
        if told := re.search(r"started successfully on port (\d+)", line):
            return int(told[1])
    raise AssertionError("the browser's driver did not start")
