"""scipy, loaded when something of it is first used: a conclusion uses nothing of it."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import scipy
else:

    class _Deferred:
        def __getattr__(self, name: str) -> Any:
            return getattr(import_module("scipy"), name)

    scipy = _Deferred()

__all__ = ["scipy"]
