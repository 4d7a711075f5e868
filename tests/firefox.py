"""Firefox, driven by keys: a reader who has no pointer, in the second browser.

Firefox speaks WebDriver BiDi (a W3C draft standard) by itself; what is here starts it, types and asks.
"""

import json
import re
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import Any

from websockets.sync.client import ClientConnection, connect

from tests.pages_on_disk import needs

KEYS = {"Tab": "\ue004", "Enter": "\ue007", "Backspace": "\ue003", "Right": "\ue014"}
"""Codes of keys that give no sign (WebDriver, keyboard actions)."""


class Window:
    """One window of Firefox."""

    def __init__(self, line: ClientConnection) -> None:
        self.line, self.numbers = line, count(1)
        self.call("session.new", capabilities={})
        self.context = self.call("browsingContext.getTree")["contexts"][0]["context"]

    def call(self, method: str, **more: object) -> Any:
        """Send one command and return its result; AssertionError with Firefox's words where it fails."""
        number = next(self.numbers)
        self.line.send(json.dumps({"id": number, "method": method, "params": more}))
        while True:
            told = json.loads(self.line.recv(timeout=60))
            if told.get("id") == number:
                assert told["type"] == "success", told
                return told["result"]

    def go_to(self, address: str) -> None:
        """Open a page and wait until all of it is there."""
        self.call("browsingContext.navigate", context=self.context, url=address, wait="complete")

    def ask(self, expression: str) -> Any:
        """Return what a JavaScript expression gives, through JSON."""
        found = self.call(
            "script.evaluate", expression=f"JSON.stringify({expression})", target={"context": self.context},
            awaitPromise=False,
        )  # fmt: skip
        assert found["type"] == "success", found
        return json.loads(found["result"].get("value", "null"))

    def comes_to(self, address: str) -> bool:
        """Return whether the window comes to this address within ten seconds."""
        for _ in range(100):
            tree = self.call("browsingContext.getTree", root=self.context)
            if tree["contexts"][0]["url"] == address:
                return True
            time.sleep(0.1)
        return False

    def press(self, key: str) -> None:
        """Press and release one key: a name of `KEYS` or the sign that it gives."""
        sign = KEYS.get(key, key)
        steps = [{"type": kind, "value": sign} for kind in ("keyDown", "keyUp")]
        actions = [{"type": "key", "id": "keys", "actions": steps}]
        self.call("input.performActions", context=self.context, actions=actions)

    def type(self, words: str) -> None:
        """Type words, sign after sign."""
        for sign in words:
            self.press(sign)


@contextmanager
def firefox_window(scratch: Path) -> Iterator[Window]:
    """Yield a window of Firefox with an empty profile below `scratch`; it is closed after."""
    program = needs(shutil.which("firefox-esr") or shutil.which("firefox"), "Firefox")
    profile = scratch / "profile"
    profile.mkdir()
    command = [
        program,
        "--headless",
        "--no-remote",
        "--profile",
        str(profile),
        "--remote-debugging-port",
        "0",
    ]
    environment = {"HOME": str(scratch), "PATH": "/usr/bin:/bin", "MOZ_HEADLESS": "1"}
    process = subprocess.Popen(
        command, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True, env=environment
    )
    try:
        assert process.stderr is not None
        for said in process.stderr:
            if found := re.search(r"WebDriver BiDi listening on (ws://\S+)", said):
                break
        else:
            raise AssertionError("Firefox ended before it could be spoken to")
        with connect(f"{found[1]}/session", max_size=None) as line:
            yield Window(line)
    finally:
        process.kill()
        process.wait()
