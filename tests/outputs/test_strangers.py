"""What was made of a stranger's study, opened from the disk in a real browser: nothing runs, nothing is read.

The study says code wherever it may say anything. Its archive is unpacked and every page opened, with the
policy that pages bear and with the policy switched off: then, too, there must be nothing for it to stop.
"""

import json
import re
import threading
import zipfile
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import ClassVar

import pytest
from playwright.sync_api import Browser, BrowserContext, Dialog, Page

from lyewitness.cli import main
from tests.hostile.making import sound_study

pytestmark = pytest.mark.browser

CODE = (
    "<script>window.ran=1</script></title></style></textarea>--><svg onload=window.ran=2>"
    "<img src=x onerror=window.ran=3><img src=file:///etc/hostname><iframe src=file:///etc/hostname></iframe>"
    "<link rel=stylesheet href=http://127.0.0.1:9/a.css><object data=http://127.0.0.1:9/b></object>"
    "\"'` onfocus=window.ran=4 autofocus {{ 7*7 }} {% raw %} ${7*7} javascript:window.ran=5"
)
NOTE = f"""+++
title = {json.dumps(CODE)}
date = 2026-03-02
author = {json.dumps(CODE)}
+++
{CODE}

[a](javascript:window.ran=6) [b](file:///etc/hostname) [c](data:text/html,<script>window.ran=7</script>)
![d](file:///etc/hostname) ![e](http://127.0.0.1:9/e.png) <http://127.0.0.1:9/f> [[column:H1|{CODE[:40]}]]

| g | {CODE} |
|---|---|
| `{CODE}` | x |
"""
SAID = ("title", "question", "expectation", "invented", "label", "lot", "serial", "name", "bonding")
"""Keys of study.toml whose words are free."""


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the unpacked archive of a study that says code, with a shelf and other forms of its report."""
    place = tmp_path_factory.mktemp("stranger")
    study = sound_study(place / "study")
    said_in_pattern = json.dumps(CODE).replace("\\", "\\\\")
    toml = (study / "study.toml").read_text()
    for key in SAID:
        toml = re.sub(rf'(?m)^{key} = ".*"$', f"{key} = {said_in_pattern}", toml)
    groups = dict.fromkeys(re.findall(r'(?m)^group = ("[^"]*")$', toml))
    for number, group in enumerate(groups):
        named = json.dumps(f"{number} {CODE}")
        toml = toml.replace(f"group = {group}\n", f"group = {named}\n").replace(f"{group} =", f"{named} =")
    assert toml.count("window.ran=1") >= 8
    (study / "study.toml").write_text(toml)
    (study / "notes" / "2026-03-02.md").write_text(NOTE)
    words = CODE.replace('"', '""')
    (study / "images.csv").write_text(f'file,caption,alt,column\nimages/a.png,"{words}","{words}",H1\n')
    table = (study / "injections.csv").read_text().splitlines()
    head = table[0].split(",")
    last = table[-1].split(",") + [""] * (len(head) - len(table[-1].split(",")))
    table[0] = ",".join([*(name for name in head if name not in ("use", "why")), "use", "why"])
    kept = [cell for name, cell in zip(head, last, strict=True) if name not in ("use", "why")]
    table[-1] = ",".join([*kept, "no", f'"{words}"'])
    (study / "injections.csv").write_text("\n".join(table) + "\n")
    bag = place / "bag.zip"
    assert main(["archive", str(study), "--into", str(bag)]) == 0
    opened = place / "opened"
    with zipfile.ZipFile(bag) as archive:
        archive.extractall(opened / "studies")
    assert main(["shelf", str(opened / "studies"), "--into", str(opened / "shelf")]) == 0
    assert main(["report", str(study), "--one-file", "--into", str(opened / "send.html")]) == 0
    assert main(["answer", str(study), "--into", str(opened / "reply.html")]) == 0
    return opened


def watched(context: BrowserContext, root: Path, seen: list[str]) -> Page:
    """Return a tab that notes all that leaves `root`, and all that speaks up."""
    page = context.new_page()
    inside = root.as_uri()

    def note(url: str) -> None:
        if not url.startswith((inside, "data:")):
            seen.append(f"asked for {url[:200]}")

    def dismiss(dialog: Dialog) -> None:
        seen.append("a dialog")
        dialog.dismiss()

    def opened(other: Page) -> None:
        if other != page:
            seen.append(f"opened {other.url}")

    context.on("request", lambda request: note(request.url))
    context.on("page", opened)
    page.on("dialog", dismiss)
    page.on("framenavigated", lambda frame: note(frame.url) if frame.url != "about:blank" else None)
    return page


FOREIGN = """() => [
    window.ran === undefined ? '' : 'ran ' + window.ran,
    ...[...document.querySelectorAll('iframe, object, embed, base, form:not(#filters)')]
        .map(one => one.outerHTML),
    ...[...document.querySelectorAll('*')].flatMap(one => one.getAttributeNames()
        .filter(name => name.startsWith('on')).map(name => one.tagName + ' ' + name)),
    ...[...document.querySelectorAll('a[href], link[href], [src]')].map(one => one.href || one.src)
        .filter(address => typeof address === 'string'
            && !/^(https?|file|data:(image|text\\/csv|application\\/json|font)|#)/.test(address)),
    ...[...document.scripts].filter(one => !one.src && !document.querySelector('main#sheet, noscript')
        && !['application/json', 'application/ld+json'].includes(one.type))
        .map(one => 'script ' + one.text.slice(0, 80)),
].filter(Boolean)"""
"""What a page holds that only a stranger would have put there."""


def pages_of(root: Path) -> Iterator[Path]:
    """Yield every page."""
    yield from sorted(root.rglob("*.html"))


@pytest.mark.parametrize("with_policy", [True, False], ids=["with the policy", "without the policy"])
def test_nothing_of_a_stranger_runs_or_reads(chromium: Browser, unpacked: Path, with_policy: bool) -> None:
    """No page runs a script of the study, asks for anything outside the folder, or holds what would."""
    seen: list[str] = []
    context = chromium.new_context(bypass_csp=not with_policy, viewport={"width": 1280, "height": 800})
    page = watched(context, unpacked, seen)
    files = list(pages_of(unpacked))
    assert len(files) > 30
    for file in files:
        page.goto(file.as_uri())
        page.keyboard.press("Tab")
        seen += [f"{file.name}: {found}" for found in page.evaluate(FOREIGN)]
        outside = page.evaluate("[...document.querySelectorAll('a[href]')].map(a => a.href)")
        away = [one for one in outside if one.startswith("file:") and not one.startswith(unpacked.as_uri())]
        seen += [f"{file.name}: a link to {one}" for one in away]
    context.close()
    assert not seen


class _Listening(BaseHTTPRequestHandler):
    """Notes what it is asked for."""

    asked: ClassVar[list[str]] = []

    def do_GET(self) -> None:
        """Answer that there is nothing."""
        self.asked.append(self.path)
        self.send_error(404)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def address() -> Iterator[str]:
    """Return the address of a server on this machine, to which a page must not turn."""
    with ThreadingHTTPServer(("127.0.0.1", 0), _Listening) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"127.0.0.1:{server.server_address[1]}"
        server.shutdown()


def test_the_policy_stops_what_a_stranger_adds(chromium: Browser, unpacked: Path, address: str) -> None:
    """The check sees what it is to see: code put in by hand is stopped by the policy, and runs without."""
    added = unpacked / "added.html"
    whole = (unpacked / "studies" / "bag" / "data" / "report" / "index.html").read_text()
    added.write_text(whole.replace("</main>", f"{CODE.replace('127.0.0.1:9', address)}</main>"))
    found = {}
    for with_policy in (True, False):
        _Listening.asked.clear()
        context = chromium.new_context(bypass_csp=not with_policy)
        page = context.new_page()
        page.goto(added.as_uri())
        page.wait_for_timeout(300)
        found[with_policy] = (page.evaluate("window.ran"), sorted(set(_Listening.asked)))
        context.close()
    added.unlink()
    assert found[True] == (None, [])
    assert found[False][0] is not None
    assert found[False][1]
