"""One thread for linear algebra: many small products wait for each other longer than they compute."""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from threadpoolctl import ThreadpoolController


@cache
def _controller() -> ThreadpoolController:
    import scipy.linalg  # noqa: F401, PLC0415  brings a library of its own, which has to be found below
    from threadpoolctl import ThreadpoolController  # noqa: PLC0415  slow to load, and seldom needed first

    return ThreadpoolController()  # looks for the libraries loaded by now, once


def one_thread() -> AbstractContextManager[object]:
    """Return a context in which linear algebra uses one thread."""
    limits: AbstractContextManager[object] = _controller().limit(limits=1, user_api="blas")
    return limits
