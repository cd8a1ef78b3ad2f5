"""Lines that come until somebody stops them with Ctrl-C."""

from __future__ import annotations

import signal
from collections.abc import Iterable, Iterator


def until_stopped(lines: Iterable[str]) -> Iterator[str]:
    """The lines until there are no more, or Ctrl-C: stopping a logger is no failure. What is being written then is finished."""
    waiting = iter(lines)
    stopped = waits = False

    def stop(*_: object) -> None:
        nonlocal stopped
        stopped = True
        if waits:
            raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, stop)
    try:
        while not stopped:
            waits = True
            line = next(waiting)
            waits = False
            yield line
    except (StopIteration, KeyboardInterrupt):
        return
    finally:
        signal.signal(signal.SIGINT, before)
