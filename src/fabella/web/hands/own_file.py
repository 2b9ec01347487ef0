"""Own examinations and what was found later as files, in the formats that ``fabella audit`` reads."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from fabella.hands import write_confirmation
from fabella.store.clinic.own_visits import OwnVisit
from fabella.web.hands.judging import looks_into


def own_files(visits: Sequence[OwnVisit]) -> Iterator[tuple[str, str]]:
    """Yield two files by name: one examination a line as it was signed, and one look into a knee a line.

    Names of patients are left out.
    """
    yield "examinations.jsonl", "".join(_unnamed(each.file) for each in visits)
    yield "confirmed.jsonl", "".join(map(write_confirmation, looks_into(visits)))


def _unnamed(file: str) -> str:
    tree = json.loads(file)
    tree["patient"].pop("label", None)
    return json.dumps(tree, ensure_ascii=False) + "\n"
