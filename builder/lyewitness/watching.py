"""Waiting for a study folder to change and come to rest, through nights, half-written files and lost drives.

In: a study folder, and what is to be done each time it has changed. Out: that, done again and again, until
somebody stops it or the work says that the test has ended.

An export takes seconds to be written, and a copy over a network longer. A folder is at rest when nothing in
it has changed in name, size or time for a while; only then is it read. What is read all the same while it is
half written gives an error or a report that the next change puts right: nothing is remembered.
"""

import os
import time
from collections.abc import Callable
from html import escape
from pathlib import Path

from watchfiles import watch

Listing = tuple[tuple[str, int, int], ...]
"""Name, bytes and time of change of every file, sorted."""
Done = bool
"""Whether the work is over, so that nobody need watch any longer."""

REST_S = 2.0
"""Seconds without a change after which a folder is at rest: exports are written in one go or line by line."""
LOOK_S = 10.0
"""Seconds between looks at folders whose drive tells of no changes, as network drives do not."""
# Eight looks while a folder comes to rest, and a stop is heard at once.
STEP_S = 0.25
RENEWED_S = 30
"""Seconds after which the page in the browser is loaded again."""


def listing_of(folder: Path) -> Listing | None:
    """Return what lies in a folder; None where it cannot be read, as when its drive has gone away."""
    found: list[tuple[str, int, int]] = []

    def fail(error: OSError) -> None:
        raise error

    try:
        for top, _, names in os.walk(folder, onerror=fail):
            for name in names:
                told = os.stat(f"{top}/{name}", follow_symlinks=False)  # noqa: PTH116
                found.append((os.path.relpath(f"{top}/{name}", folder), told.st_size, told.st_mtime_ns))
    except FileNotFoundError:
        # A file that goes while it is looked at is a change; the folder itself may have gone.
        return listing_of(folder) if folder.is_dir() else None
    except OSError:
        return None
    return tuple(sorted(found))


def at_rest(folder: Path, rest_s: float, stopped: Callable[[], None]) -> Listing | None:
    """Wait until nothing has changed for `rest_s` seconds; return what lies there, None where it has gone."""
    seen, since = listing_of(folder), time.monotonic()
    while seen is not None and time.monotonic() - since < rest_s:
        stopped()
        time.sleep(min(STEP_S, rest_s))
        now = listing_of(folder)
        if now != seen:
            seen, since = now, time.monotonic()
    return seen


def keep_watch(
    folder: Path,
    work: Callable[[], Done],
    tell: Callable[[str], None],
    stopped: Callable[[], None],
    rest_s: float = REST_S,
    look_s: float = LOOK_S,
) -> None:
    """Do `work` now and whenever the folder has changed and come to rest, until it says that it is over."""
    before: Listing | None = None
    gone = False
    while True:
        stopped()
        now = at_rest(folder, rest_s, stopped)
        if now is None:
            if not gone:
                tell(f"'{folder}' is not there; waiting for it to come back")
            gone = True
            _sleep(look_s, stopped)
            continue
        gone = False
        if now != before:
            over = work()
            before = now
            if over and listing_of(folder) == now:
                return
        _await_change(folder, before, look_s, stopped)


def _await_change(folder: Path, before: Listing | None, look_s: float, stopped: Callable[[], None]) -> None:
    """Return when something has changed: told by the system at once, or seen by looking."""
    try:
        # What has changed since the last listing, and before the system began to tell, is seen first.
        for _ in watch(folder, rust_timeout=round(look_s * 1000), yield_on_timeout=True, debounce=200):
            stopped()
            if listing_of(folder) != before:
                return
    except (OSError, RuntimeError):
        # A drive that goes away ends the watch; so may one that cannot be watched.
        _sleep(look_s, stopped)


def _sleep(seconds: float, stopped: Callable[[], None]) -> None:
    """Wait, ready to be stopped."""
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        stopped()
        time.sleep(min(STEP_S, left))


def live_page(report: Path) -> bytes:
    """Return a page that lies beside a report and shows it, loaded again every half minute.

    It is apart from the report, whose bytes so are those of any other build.
    """
    name = escape(report.name, quote=True)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="refresh" content="{RENEWED_S}"><title>{name}, renewed</title>'
        "<style>html,body,iframe{margin:0;border:0;width:100%;height:100%;display:block}</style></head>"
        f'<body><iframe src="{name}/index.html" title="{name}"></iframe></body></html>\n'
    ).encode()
