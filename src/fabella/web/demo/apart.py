"""The invented clinic filled in a process of its own, so that the server itself is forked without threads.

The library that sets letters starts threads, and a server that is forked afterwards would wait for them for
ever; so would a fork of whatever has set a letter before.
"""

from __future__ import annotations

from collections.abc import Callable
from multiprocessing import get_context

from fabella.errors import FabellaError
from fabella.web.options import Options


def fill_apart(options: Options, *, begins: Callable[[], None]) -> None:
    """Put the invented clinic into the store of these options, unless it has a patient, and wait for it.

    ``begins``, a function of a module, is called before the first patient is added, in the other process.
    """
    filling = get_context("spawn").Process(target=_fill, args=(options, begins))
    filling.start()
    filling.join()
    if filling.exitcode:
        raise FabellaError("The invented clinic could not be put into the data folder.")


def _fill(options: Options, begins: Callable[[], None]) -> None:
    from fabella.web.settings import configure  # noqa: PLC0415  the framework starts in this process

    configure(options)
    from fabella.web.demo.clinic import fill_when_empty  # noqa: PLC0415  once it has

    fill_when_empty(begins=begins)
