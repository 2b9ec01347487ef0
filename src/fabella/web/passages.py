"""A passage put in other words by a form, where no script saves it as it is typed."""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from fabella.errors import FabellaError
from fabella.record import Change, Writing
from fabella.store.clinic.charting import save_one
from fabella.web.forms import typed_whole
from fabella.web.visitor import Request


def save_passage(request: Request, visit_id: int, writing: Writing, form: Mapping[str, str]) -> None:
    """Save what a form says of a passage.

    ``form`` holds the id of the ``passage``, its ``text``, what the page ``computed`` there, a ``reason`` and
    the ``base``; ``restore`` takes the words back instead, and so do the computed words unless ``keep`` says
    that they are meant. Raises `FabellaError` when it is refused.
    """
    base, text, computed = (form.get(name, "") for name in ("base", "text", "computed"))
    taken_back = "restore" in form or ("keep" not in form and text.split() == computed.split())
    operation: dict[str, object] = {
        "id": f"form-{secrets.token_hex(12)}",
        "base": typed_whole(base),
        "change": Change.SET_PASSAGE,
        "document": writing,
        "passage": form.get("passage", ""),
        "text": None if taken_back else text,
        "computed": computed,
        "reason": form.get("reason", ""),
    }
    if problems := save_one(request.person, visit_id, operation, now=request.now):
        raise FabellaError("\n".join(map(str, problems)))
