"""Without a connection: the worker that stands in for the server, and the page for want of another."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from typing import ClassVar

from django.http import HttpResponse

import fabella
from fabella.web.bedside.signs import bedside_digest
from fabella.web.door import enter_unknown
from fabella.web.templating import STATIC, render, static, static_prefix, url
from fabella.web.visitor import Request

_WORKER = "worker.js"


@dataclass(frozen=True, slots=True, kw_only=True)
class OfflinePage:
    """What can be done without a connection; its script lists what this browser keeps."""

    template: ClassVar[str] = "offline.html"


@enter_unknown()
def offline(request: Request) -> HttpResponse:
    """Show what is kept on this device; the same page for everybody, since the worker shows it to anybody."""
    request.actor = None
    return render(request, OfflinePage())


@enter_unknown()
def worker(request: Request) -> HttpResponse:
    """Give the worker, with the names of what it holds; it changes whenever any of that does."""
    del request
    return HttpResponse(_worker(), content_type="text/javascript; charset=utf-8")


@cache
def _worker() -> str:
    names = sorted(path.relative_to(STATIC).as_posix() for path in STATIC.rglob("*") if path.is_file())
    held = {
        "name": f"{fabella.__version__}-{static_prefix().strip('/').rpartition('/')[2]}",
        "files": [static(name) for name in names if name != _WORKER],
        "offline": url("offline"),
        "signs": url("api_signs", digest=bedside_digest()),
        "leave": url("logout"),
    }
    return f"const HELD = {json.dumps(held)};\n{(STATIC / _WORKER).read_text('utf-8')}"
