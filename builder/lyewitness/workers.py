"""Independent pieces of work, on as many cores as are to be used.

In: functions without arguments, and how many may run at once. Out: what they return, in their order, the same
for any number of workers.
"""

import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeVar

Done = TypeVar("Done")
Task = Callable[[], Any]

LEAST_EACH = 4
"""Fewer pieces than this a worker are done sooner here than handed over: a worker takes 20 ms to begin."""
SHARES_EACH = 8
"""Shares that a worker takes one after the other, so that none waits long for the slowest at the end."""
# How late a worker notices that whoever began it is gone.
LOOKS_AFTER_S = 1.0

_tasks: list[Task] = []
"""Within a worker: the pieces of work, which it got by being forked and which need no copying."""


def cores() -> int:
    """Return how many cores this process may use."""
    if sys.platform == "linux":
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def done_in_turn(
    tasks: Sequence[Callable[[], Done]], jobs: int = 1, least_each: int = LEAST_EACH
) -> Iterator[Done]:
    """Yield what each of `tasks` returns, in their order; up to `jobs` run at once.

    An exception of one of them is raised here when its turn comes. Where a system cannot fork safely, or
    there are fewer than `least_each` for a worker, all run here.
    """
    jobs = min(jobs, len(tasks) // least_each)
    if jobs < 2 or sys.platform != "linux":
        yield from (task() for task in tasks)
        return
    # Whoever finds everything made needs no workers, and can spare what they take to load.
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    context = multiprocessing.get_context("fork")
    share = max(1, len(tasks) // (jobs * SHARES_EACH))
    with ProcessPoolExecutor(jobs, context, _begin, (list(tasks), os.getpid())) as pool:
        try:
            yield from pool.map(_do, range(len(tasks)), chunksize=share)
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _begin(tasks: list[Task], parent: int) -> None:
    """Take the work over; a stop is the parent's to hear, and ends the workers with it."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_DFL if number == signal.SIGTERM else signal.SIG_IGN)
    _tasks[:] = tasks
    threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: int) -> None:
    """End this worker when the parent was killed."""
    while os.getppid() == parent:
        time.sleep(LOOKS_AFTER_S)
    os._exit(1)


def _do(place: int) -> Any:
    return _tasks[place]()
