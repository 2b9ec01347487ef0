"""The door: every page declares who may enter, and a page that declares nothing lets nobody in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from django.http import HttpResponse

from fabella.store import NotAllowed, Role
from fabella.store.exams.codes import Kind

_View = TypeVar("_View", bound=Callable[..., HttpResponse])

READING, SENDING = ("GET", "HEAD"), ("GET", "HEAD", "POST")


@dataclass(frozen=True, slots=True)
class Entrance:
    """Who may enter a page, and by which methods; ``roles`` None lets in everybody, known or not.

    ``passes`` lets in besides whoever bears the pass of a class, ``exam`` whoever bears one of an exam of
    that kind: of an examiner, of a candidate.
    """

    roles: frozenset[Role] | None
    methods: tuple[str, ...]
    passes: bool = False
    exam: Kind | None = None


class NobodyThere(NotAllowed):
    """The page is for people who have said who they are."""


class NoCodeShown(NobodyThere):
    """The page is for people who have shown the code of an exam."""


def enter(*roles: Role, methods: tuple[str, ...] = READING) -> Callable[[_View], _View]:
    """Declare that a page is for people with any of these roles."""
    return _declared(Entrance(frozenset(roles), methods))


def enter_known(*, methods: tuple[str, ...] = READING) -> Callable[[_View], _View]:
    """Declare that a page is for everybody who has said who they are."""
    return _declared(Entrance(frozenset(Role), methods))


def enter_learning(*, methods: tuple[str, ...] = READING) -> Callable[[_View], _View]:
    """Declare that a page is for everybody who practises: known, or let into a class by its code."""
    return _declared(Entrance(frozenset(Role), methods, passes=True))


def enter_by_code(kind: Kind, *, methods: tuple[str, ...] = READING) -> Callable[[_View], _View]:
    """Declare that a page is for whoever has shown a code of an exam, and for no account."""
    return _declared(Entrance(frozenset(), methods, exam=kind))


def enter_unknown(*, methods: tuple[str, ...] = READING) -> Callable[[_View], _View]:
    """Declare that a page is for everybody, known or not: it shows nothing of anybody."""
    return _declared(Entrance(None, methods))


def entrance_of(view: object) -> Entrance | None:
    """Return what a page declares, or None when it declares nothing."""
    entrance = getattr(view, "entrance", None)
    return entrance if isinstance(entrance, Entrance) else None


def _declared(entrance: Entrance) -> Callable[[_View], _View]:
    def declare(view: _View) -> _View:
        view.entrance = entrance  # type: ignore[attr-defined]
        return view

    return declare
