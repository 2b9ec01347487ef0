"""Every address of the pages, with values for its parts, so that a test can try them all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.urls.resolvers import URLPattern

from fabella.store import Role
from fabella.web.bedside.signs import bedside_digest
from fabella.web.demo.teaching import CODE
from fabella.web.door import Entrance, entrance_of
from fabella.web.urls import urlpatterns

PARTS: dict[str, Any] = {
    "patient_id": 1,
    "visit_id": 1,
    "number": 1,
    "kind": "txt",
    "writing": "letter",
    "day": "2026-11-25",
    "sign": "lachman",
    "lesion": "acl_tear",
    "rule": "ottawa_knee",
    "measure": "thigh_girth",
    "image": "mri",
    "source": "sokal_2022",
    "digest": bedside_digest(),
    "run_id": 1,
    "turn": 16,
    "view": "test",
    "set_id": 1,
    "drawn_id": 1,
    "class_id": 1,
    "code": CODE,
    "exam_id": 1,
    "station": "ligaments",
    "who": "examiners",
    "candidate": "C24",
    "examiner": "Bellow",
}
"""A value for every part that an address can have; patient, visit, run, set, class and exam are invented."""


@dataclass(frozen=True)
class Route:
    """One address with what its page declares."""

    name: str
    address: str
    parts: frozenset[str]
    entrance: Entrance | None

    @property
    def roles(self) -> frozenset[Role] | None:
        """Who may enter; None is everybody."""
        assert self.entrance is not None, f"{self.name} declares nothing"
        return self.entrance.roles

    @property
    def sends_only(self) -> bool:
        """Whether it can only be posted to."""
        return self.entrance is not None and "GET" not in self.entrance.methods


WITHOUT_SIGN_ON_NOT_THERE = {"sign_on", "sign_on_back", "sign_on_enter"}
"""Addresses of the hospital's sign-on, which no server has that was not told of one."""

OPEN_VISIT = 8
"""One of the invented clinic that is not signed; `PARTS` has one that is."""

DRAFT_EXAM = 2
"""The exam of the invented clinic that is a draft; that of `PARTS` is open."""

CLOSED_EXAM, RELEASED_EXAM = 3, 4
"""Exams of the invented clinic that were held: one closed and not decided, one released."""

OPEN_RUN = 2
"""The practice run of the invented clinic that goes on; that of `PARTS` is over."""

DRAWN_RUNS = {"standing": 3, "walking": 4, "tested": 5, "in_words": 6}
"""Practice runs of the invented clinic that stand so that something else is drawn in each."""


def routes(**others: Any) -> Iterator[Route]:
    """Yield every address, from the table itself, so that none is forgotten; ``others`` replace `PARTS`."""
    for pattern in urlpatterns:
        assert isinstance(pattern, URLPattern)
        parts = frozenset(pattern.pattern.regex.groupindex)
        name = str(pattern.name)
        address = reverse(name, kwargs={part: others.get(part, PARTS[part]) for part in parts})
        yield Route(name, address, parts, entrance_of(pattern.callback))
