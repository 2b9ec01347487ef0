"""The door: every page declares who may enter, and a page that declares nothing lets nobody in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed

from fabella.store import NotAllowed, Role
from fabella.web.visitor import Request

_View = TypeVar("_View", bound=Callable[..., HttpResponse])

READING, SENDING = ("GET", "HEAD"), ("GET", "HEAD", "POST")


@dataclass(frozen=True, slots=True)
class Entrance:
    """Who may enter a page, and by which methods; ``roles`` None lets in everybody, known or not."""

    roles: frozenset[Role] | None
    methods: tuple[str, ...]


class NobodyThere(NotAllowed):
    """The page is for people who have said who they are."""


def enter(*roles: Role, methods: tuple[str, ...] = READING) -> Callable[[_View], _View]:
    """Declare that a page is for people with any of these roles."""
    return _declared(Entrance(frozenset(roles), methods))


def enter_known(*, methods: tuple[str, ...] = READING) -> Callable[[_View], _View]:
    """Declare that a page is for everybody who has said who they are."""
    return _declared(Entrance(frozenset(Role), methods))


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


class Door:
    """Lets a request through to its page, or not."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer a request."""
        return self._get_response(request)

    def process_view(
        self, request: Request, view: object, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        """Refuse a request that may not enter; return None to let it in."""
        del args, kwargs
        entrance = entrance_of(view)
        if entrance is None:
            raise NotAllowed("This page does not say who may enter, so nobody may.")
        if entrance.roles is not None:
            if request.actor is None:
                raise NobodyThere("Please say who you are.")
            if not request.actor.roles & entrance.roles:
                raise NotAllowed("This page is not for your account.")
        if request.method not in entrance.methods:
            return HttpResponseNotAllowed(entrance.methods)
        return None
