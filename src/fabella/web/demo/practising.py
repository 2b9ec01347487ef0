"""Two practice runs of the invented clinic's clinician: one that is over, and one that goes on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from fabella.record import Setting
from fabella.store import Actor
from fabella.store.school.practising import add_events, begin_run, runs_of
from fabella.teach import Recipe, Terms

_COURTESIES = ("greeting", "hand_hygiene", "identity", "consent", "presenting_complaint", "pain_first")
_TESTS = ("effusion_sweep", "joint_line_tenderness_medial", "lachman", "posterior_drawer")


def practise_when_nobody_did(actor: Actor, *, now: datetime) -> None:
    """Keep both runs unless there is any of this person's."""
    if runs_of(actor, most=1):
        return
    for seed, ended in ((24, True), (17, False)):
        recipe = Recipe(seed=seed, curriculum="ligaments", setting=Setting.SPECIALIST_CLINIC)
        run = begin_run(actor, recipe, Terms(minutes=8), now=now)
        events = [{"id": f"invented-practice-{run}-{at}", **each} for at, each in enumerate(_events(ended))]
        for result in add_events(actor, run, events, now=now):
            if result.problems:
                raise ValueError("; ".join(map(str, result.problems)))


def _events(ended: bool) -> Iterator[dict[str, Any]]:  # noqa: FBT001
    for each in (*_COURTESIES, "exposure", "giving_way", "locking"):
        yield {"act": "do", "sign": each, "thought_s": 2}
    yield {"act": "watch_face"}
    for test in _TESTS:
        for side in ("right", "left"):
            yield {"act": "do", "sign": test, "side": side, "thought_s": 3}
    if ended:
        yield {"act": "believe", "beliefs": [["acl_tear", 0.4], ["medial_meniscus_tear", 0.3]]}
        yield {"act": "record", "sign": "lachman", "side": "right", "level": "0"}
        yield {"act": "record", "sign": "lachman", "side": "left", "level": "1+"}
        yield {"act": "believe", "beliefs": [["acl_tear", 0.7], ["medial_meniscus_tear", 0.35]]}
        yield {"act": "complete", "would": ["MRI of the knee"]}
        yield {"act": "finish"}
