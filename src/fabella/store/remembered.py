"""What is remembered from request to request: what was used last, so much at most, for all threads."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from typing import Generic, TypeVar

Key = TypeVar("Key")
Value = TypeVar("Value")


class Remembered(Generic[Key, Value]):
    """Values by key; beyond ``most`` of them, what was used longest ago is forgotten."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = Lock()
        self._values: OrderedDict[Key, Value] = OrderedDict()

    def get(self, key: Key) -> Value | None:
        """Return what is remembered by a key, None when nothing is."""
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
            return self._values.get(key)

    def take(self, key: Key) -> Value | None:
        """Return what is remembered by a key and forget it, None when nothing is."""
        with self._lock:
            return self._values.pop(key, None)

    def put(self, key: Key, value: Value) -> None:
        """Remember a value, in place of what was remembered by its key."""
        with self._lock:
            self._values[key] = value
            self._values.move_to_end(key)
            while len(self._values) > self._most:
                self._values.popitem(last=False)

    def forget(self) -> None:
        """Forget everything, for whoever points at another database."""
        with self._lock:
            self._values.clear()
