"""What a dictated text says, for a page that shows it before anything is entered."""

from __future__ import annotations

import json
from typing import Any

from django.http import HttpResponse, JsonResponse

from fabella.dictation import Understood, understand
from fabella.errors import FabellaError
from fabella.protocol import load_protocol
from fabella.record import Finding, Imaging, Key, Part, change_to, plain
from fabella.report.dictated import answer_words, finding_words, told_words
from fabella.report.imaging_words import image_title, said_of
from fabella.store import Role
from fabella.web.door import enter
from fabella.web.visitor import Request

_Tree = dict[str, Any]

LONGEST = 20_000
"""Characters: some half an hour of speech."""


@enter(Role.CLINICIAN, methods=("POST",))
def dictation(request: Request) -> HttpResponse:
    """Read a text and propose what it says. Nothing is recorded, and the text is not kept."""
    try:
        sent = json.loads(request.body)
        text = sent["text"]
    except (ValueError, TypeError, KeyError, RecursionError):
        raise FabellaError('A dictation is sent as {"text": "…"}.') from None
    if not isinstance(text, str) or len(text) > LONGEST:
        raise FabellaError(f"A dictation is a text of at most {LONGEST} characters.")
    return JsonResponse(_tree(understand(text, protocol=load_protocol())))


def _tree(understood: Understood) -> _Tree:
    protocol = load_protocol()
    of_whole = understood.of_whole
    context = {key.name: plain(key, value) for key, value in _context(understood) if value is not None}
    return {
        "complete": understood.is_complete,
        "findings": [{**_finding(each), "of_whole": each in of_whole} for each in understood.findings],
        "history": [
            {
                "item": item,
                "value": answer,
                "words": f"{protocol.sign(item).name}: {answer_words(answer, protocol.sign(item))}",
            }
            for item, answer in understood.history.items()
        ],
        "context": context,
        "imaging": [_image(each) for each in understood.imaging],
        "told": [*told_words(understood.patient), *told_words(understood.context)],
        "spans": [
            {
                "words": understood.words(span),
                "became": span.became.value,
                "open": span.became.is_open,
                "why": span.why,
                "nearest": span.nearest,
                "choices": [
                    {"words": each.words, "findings": [_finding(one) for one in each.findings]}
                    for each in span.choices
                ],
            }
            for span in understood.spans
        ],
    }


def _context(understood: Understood) -> list[tuple[Key, Any]]:
    names = ("acuity", "onset_days", "mechanism", "mechanism_words", "complaint", "procedure")
    return [(Key(Part.CONTEXT, name), getattr(understood.context, name)) for name in names]


def _finding(finding: Finding) -> _Tree:
    key = Key(Part.FINDING, finding.sign, finding.side)
    return {"finding": plain(key, finding), "words": finding_words(finding, load_protocol())}


def _image(image: Imaging) -> _Tree:
    change = change_to(Key(Part.IMAGING, image.image, image.side), image)
    return {"change": change, "words": f"{image_title(image.image)}: {said_of(image)}"}
