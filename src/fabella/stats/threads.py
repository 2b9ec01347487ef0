"""One thread for linear algebra: many small products wait for each other longer than they compute."""

from __future__ import annotations

import sys
from contextlib import AbstractContextManager
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from threadpoolctl import ThreadpoolController


@cache
def _controller(_loaded: frozenset[str]) -> ThreadpoolController:
    """Look once for the libraries loaded by now; looked again when another one has come."""
    from threadpoolctl import ThreadpoolController  # noqa: PLC0415  slow to load, and seldom needed first

    return ThreadpoolController()


def one_thread(*, scipy_too: bool = False) -> AbstractContextManager[object]:
    """Return a context in which linear algebra, as far as it is loaded, uses one thread.

    Whoever needs `scipy.linalg` within it says so with ``scipy_too``, and it is loaded first.
    """
    if scipy_too:
        import_module("scipy.linalg")
    loaded = frozenset({"numpy", "scipy.linalg"} & sys.modules.keys())  # each brings a library of its own
    limits: AbstractContextManager[object] = _controller(loaded).limit(limits=1, user_api="blas")
    return limits
