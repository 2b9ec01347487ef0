"""Writes that arrive at the same time are kept in one transaction, which costs the disk no more than one.

The first to come writes for itself; whoever comes meanwhile waits, and one of them then writes for all.
Nobody is answered before what they sent is on the disk.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

Asked = TypeVar("Asked")
Answer = TypeVar("Answer")


class _Wish(Generic[Asked, Answer]):
    """What one caller wants: woken either with an answer or an error, or to write for all who wait."""

    def __init__(self, asked: Asked) -> None:
        self.asked = asked
        self.woken = threading.Event()
        self.answers: tuple[Answer, ...] = ()
        self.error: BaseException | None = None
        self.leads = False


class Together(Generic[Asked, Answer]):
    """Calls a function with everything that was asked for since its last call; one call at a time.

    ``write`` gets what was asked, in the order of arrival, and returns as many answers; what it raises is
    raised for everybody who asked.
    """

    def __init__(self, write: Callable[[Sequence[Asked]], Sequence[Answer]]) -> None:
        self._write = write
        self._guard = threading.Lock()
        self._waiting: list[_Wish[Asked, Answer]] = []
        self._busy = False

    def ask(self, asked: Asked) -> Answer:
        """Return the answer to one thing, once it has been written."""
        wish: _Wish[Asked, Answer] = _Wish(asked)
        with self._guard:
            self._waiting.append(wish)
            wish.leads, self._busy = not self._busy, True
        if not wish.leads:
            wish.woken.wait()
        if wish.leads:
            self._lead()
        if wish.error is not None:
            raise wish.error
        (answer,) = wish.answers
        return answer

    def _lead(self) -> None:
        """Write for everybody who waits, then let one of those who came meanwhile lead."""
        with self._guard:
            wishes, self._waiting = self._waiting, []
        try:
            for wish, answer in zip(wishes, self._write([each.asked for each in wishes]), strict=True):
                wish.answers = (answer,)
        except BaseException as error:  # noqa: BLE001  everybody who asked has to hear of it
            for wish in wishes:
                wish.error = error
        finally:
            with self._guard:
                self._busy = bool(self._waiting)
                if self._waiting:
                    self._waiting[0].leads = True
                    self._waiting[0].woken.set()
            for wish in wishes:
                wish.woken.set()
