"""What is worked out once, whoever asks: in another process where there is one, so that a save stays quick.

Each way to ask says how long its page can wait for the answer.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Hashable, Sequence
from concurrent.futures import BrokenExecutor, Future
from contextlib import suppress
from functools import partial
from operator import call
from typing import Any, TypeVar

from fabella.web.remembering import Remembering
from fabella.web.workers import Workers

log = logging.getLogger(__name__)

_Answer = TypeVar("_Answer")

_PATIENCE = 3  # processes that end without an answer, before none is tried again
MOMENT_S = 0.5
"""Longer than this nobody looks at nothing: a page then shows what it has (judgement)."""

_workers: list[Workers] = []
_ended: list[str] = []
_ahead: list[Future[Any]] = []
_unhurried: dict[tuple[Any, Hashable], Future[Any]] = {}


def compute_elsewhere(workers: Workers) -> None:
    """Let other processes compute from now on; until then, and without them, it is done here."""
    _workers[:] = [workers]
    _ended.clear()
    _forget()


def is_elsewhere() -> bool:
    """Say whether other processes compute."""
    return bool(_workers)


def _is_alone() -> bool:
    """Say whether this process computes everything: there is no other, or too many have ended."""
    return not _workers or len(_ended) >= _PATIENCE


def begin_ahead(function: Callable[[Any], Any], about: Hashable) -> None:
    """Begin what somebody will ask for in a moment, unless such a thing is under way already."""
    if _is_alone() or any(not each.done() for each in _ahead):
        return
    with suppress(BrokenExecutor):  # whoever asks for it will deal with that
        _ahead[:] = [_elsewhere(function, about)]


def computed(function: Callable[[Any], _Answer], about: Hashable) -> _Answer:
    """Return what a function makes of something: computed once, in another process where there is one."""
    if not _is_alone():
        try:
            return _elsewhere(function, about).result()  # type: ignore[no-any-return]
        except BrokenExecutor as error:  # compute here, and begin anew next time
            _lose(error)
    return _computed_here(function, about)


def all_computed(function: Callable[[Any], _Answer], abouts: Sequence[Hashable]) -> tuple[_Answer, ...]:
    """Return what a function makes of each of several things, side by side where there are processes."""
    if not _is_alone():
        with suppress(BrokenExecutor):  # whoever waits for the first will deal with that
            for about in abouts:
                _elsewhere(function, about)
    return tuple(map(partial(computed, function), abouts))


def in_turn(function: Callable[[Any], _Answer], abouts: Sequence[Hashable]) -> tuple[_Answer, ...] | None:
    """Return what a function makes of each of several things once all are there, None until then.

    Each is begun when the one before is there, so that a conclusion somebody waits for goes between them.
    """
    if _is_alone():
        return tuple(map(partial(_computed_here, function), abouts))
    try:
        begun = _begun_in_turn(function, abouts)
        return None if begun is None else tuple(each.result() for each in begun)
    except BrokenExecutor as error:
        _lose(error)
        return None


def _begun_in_turn(function: Callable[[Any], Any], abouts: Sequence[Hashable]) -> list[Future[Any]] | None:
    """Begin the first that is not there, which will begin the next; None unless all are there."""

    def go_on(done: Future[Any]) -> None:
        if not done.cancelled() and done.exception() is None:
            with suppress(BrokenExecutor):  # whoever asks for the rest will deal with that
                _begun_in_turn(function, abouts)

    begun = []
    for about in abouts:
        begun.append(_elsewhere(function, about))
        if not begun[-1].done():
            begun[-1].add_done_callback(go_on)
            return None
    return begun


def soon_computed(function: Callable[[Any], _Answer], about: Hashable) -> _Answer | None:
    """Return what a function makes of something if it is there within a moment, None until then.

    Somebody waits for it, so it takes its turn as in `computed`; only its page does not wait.
    """
    if _is_alone():
        return _computed_here(function, about)
    try:
        return _elsewhere(function, about).result(timeout=MOMENT_S)  # type: ignore[no-any-return]
    except TimeoutError:
        return None
    except BrokenExecutor as error:
        _lose(error)
        return None


def when_computed(function: Callable[[Any], _Answer], about: Hashable) -> _Answer | None:
    """Return what a function makes of something once it is there, None until then.

    Nobody waits for it: it is begun when no other such thing is under way, so that whoever asks for much gets
    one after the other, and conclusions go on between them.
    """
    if _is_alone():
        return _computed_here(function, about)
    try:
        begun = _unhurried.get((function, about))
        if begun is None:
            if any(not each.done() for each in list(_unhurried.values())):
                return None
            begun = _elsewhere(function, about)
            _unhurried.clear()
            _unhurried[function, about] = begun
        return begun.result() if begun.done() else None
    except BrokenExecutor as error:
        _lose(error)
        return None


def _computed_here(function: Callable[[Any], _Answer], about: Hashable) -> _Answer:
    answer: _Answer = _made(function, about)
    return answer


def _lose(error: BrokenExecutor) -> None:
    _ended.append(str(error))
    log.warning("a process that concludes has ended (%s of %s): %s", len(_ended), _PATIENCE, error)
    _forget()
    _workers[0].end()


def _start(function: Callable[[Any], Any], about: Any) -> Future[Any]:
    return _workers[0].start(function, about)


_elsewhere, _made = Remembering(_start), Remembering(call)


def _forget() -> None:
    _elsewhere.forget()
    _unhurried.clear()
