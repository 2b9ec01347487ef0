"""Pages from their contexts: one dataclass a page, and nothing on the page that is not in it."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, field, fields
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any, ClassVar, Protocol

from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import reverse
from jinja2 import Environment, FileSystemLoader, StrictUndefined

import fabella
from fabella.report.wording import NO_BREAK, short_date, written_date
from fabella.store import Actor
from fabella.web.imaged import is_image

_HERE = Path(__file__).parent
STATIC = _HERE / "static"
_PERCENT = re.compile(r" %(?<=\d %)(?=[^<>]*<(?!/(?:textarea|pre|code|script)\b))")
"""The space between a number and its per cent sign in what is read, not in what is typed or copied."""
_IMPORTED = re.compile(r'from "\./([a-z_]+\.js)"')
TEMPLATES = (_HERE / "pages", _HERE / "layout")


def said(what: str) -> dict[str, str]:
    """Return the metadata of a field of a page: the sentence that documents it."""
    return {"help": what}


class Page(Protocol):
    """The context of a page: a frozen dataclass whose fields are documented."""

    template: ClassVar[str]
    __dataclass_fields__: ClassVar[dict[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What stands round every page."""

    actor: Actor | None = field(
        metadata=said("Who is at the door; None before anybody has said who they are.")
    )
    version: str = field(metadata=said("Version of the program."))
    path: str = field(metadata=said("Address of the page, to mark it in the navigation."))


def render(request: HttpRequest, page: Page, *, status: int = 200) -> HttpResponse:
    """Return a page."""
    return HttpResponse(render_text(request, page), status=status)


def render_text(request: HttpRequest, page: Page) -> str:
    """Return a page, or a part of one, as text."""
    frame = Frame(actor=getattr(request, "actor", None), version=fabella.__version__, path=request.path)
    text = engines["jinja2"].get_template(page.template).render(context_of(page, frame), request)
    return _PERCENT.sub(f"{NO_BREAK}%", text)


def context_of(page: Page, frame: Frame) -> dict[str, Any]:
    """Return everything that the template of a page is given, apart from what the framework adds."""
    return {"frame": frame, **{each.name: getattr(page, each.name) for each in fields(page)}}


def environment(**options: Any) -> Environment:
    """Return the template environment; the framework calls this."""
    del options
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(url=url, static=static, modules=modules)
    made.tests.update(image=is_image)
    made.filters.update(day=written_date, clock=clock)
    return made


def url(name: str, **parts: Any) -> str:
    """Return the address of a page."""
    return reverse(name, kwargs=parts or None)


def static(name: str) -> str:
    """Return the address of a static file, which changes whenever any of them does."""
    return f"/{static_prefix()}{name}"


@cache
def modules(name: str) -> tuple[str, ...]:
    """Return the scripts that a script needs, in order of discovery, for a page that asks for all at once.

    Left alone a browser finds one when it has read the other, and each time the network is waited for.
    """
    found, wanted = {name: None}, [name]
    for script in wanted:
        new = [each for each in _IMPORTED.findall((STATIC / script).read_text("utf-8")) if each not in found]
        found.update(dict.fromkeys(new))
        wanted.extend(dict.fromkeys(new))
    return tuple(found)[1:]


@cache
def static_prefix() -> str:
    """Return where the static files stand: one address for each state of all of them."""
    files = sorted(path for path in STATIC.rglob("*") if path.is_file())
    digest = hashlib.sha256(b"".join(path.name.encode() + path.read_bytes() for path in files))
    return f"static/{digest.hexdigest()[:12]}/"


def clock(value: datetime) -> str:
    """Return a moment in the time of this machine: 3 Feb 2026, 14:05."""
    local = value.astimezone()
    return f"{short_date(local)}, {local:%H:%M}"
