"""Questions to the provider: over TLS, to the address that was meant, never for long, never a long answer."""

from __future__ import annotations

import json
import ssl
import threading
from collections.abc import Mapping
from http.client import HTTPException
from typing import Any
from urllib.parse import urlencode
from urllib.request import HTTPSHandler, OpenerDirector, ProxyHandler, Request

from fabella.web.sign_on.refused import Unanswered

_PATIENCE_SECONDS = 5
_AT_ONCE = 8
"""Threads, of the server's 32, that may wait for it: one that hangs holds up no save (judgement)."""
_LONGEST = 1_000_000  # bytes: a hundred times what providers send; of more the rest is not read

_turns = threading.BoundedSemaphore(_AT_ONCE)


def ask(
    address: str, *, form: Mapping[str, str] | None = None, headers: Mapping[str, str] | None = None
) -> tuple[int, dict[str, Any]]:
    """Return status and JSON object of an answer; with a ``form`` that is posted.

    Redirects are not followed: a secret goes where it was meant to go. The authorities are those that the
    system trusts (or ``SSL_CERT_FILE``), read at each question. Raises `Unanswered` for whatever is no
    such answer.
    """
    if not address.startswith("https:"):
        raise Unanswered(f"{address}: not over TLS")
    if not _turns.acquire(blocking=False):
        raise Unanswered(f"{address}: {_AT_ONCE} others wait for it already")
    try:
        return _asked(address, form, headers or {})
    except (OSError, HTTPException, ValueError, RecursionError) as error:
        raise Unanswered(f"{address}: {type(error).__name__}, {error}") from error
    finally:
        _turns.release()


def _asked(
    address: str, form: Mapping[str, str] | None, headers: Mapping[str, str]
) -> tuple[int, dict[str, Any]]:
    opener = OpenerDirector()  # with nothing that would follow a redirect, or open anything else
    opener.add_handler(ProxyHandler())
    opener.add_handler(HTTPSHandler(context=ssl.create_default_context()))
    body = None if form is None else urlencode(form).encode()
    asked = Request(address, data=body, headers={"Accept": "application/json", **headers})  # noqa: S310  https
    answer = opener.open(asked, timeout=_PATIENCE_SECONDS)
    if answer is None:
        raise OSError("no way there")
    with answer:
        text, status = answer.read(_LONGEST), int(answer.status)
    told = json.loads(text)
    if not isinstance(told, dict):
        raise ValueError("the answer is no JSON object")  # noqa: TRY004  as for all that is no answer
    return status, told
