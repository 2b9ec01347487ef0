"""Practice runs of the invented clinic's clinician: one that is over, and others that go on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from fabella.record import Setting
from fabella.store import Actor
from fabella.store.school.adding import add_events
from fabella.store.school.practising import begin_run, runs_of
from fabella.teach import Recipe, Terms

_COURTESIES = ("greeting", "hand_hygiene", "identity", "consent", "presenting_complaint", "pain_first")
_TESTS = ("effusion_sweep", "joint_line_tenderness_medial", "lachman", "posterior_drawer")


def practise_when_nobody_did(actor: Actor, *, now: datetime) -> None:
    """Keep the runs unless there is any of this person's."""
    if runs_of(actor, most=1).read:
        return
    runs = (
        (24, [*_begun(), *_tested(), *_concluded()]),
        (17, [*_begun(), *_tested()]),
        (13, [*_begun(), {"act": "position", "position": "standing", "thought_s": 3}]),
        (111, [*_begun(), {"act": "position", "position": "walking", "thought_s": 3}]),
        (9, [*_begun(), *_on_both_sides("lachman")]),
        (4, [*_begun(), {"act": "in_words"}, *_on_both_sides("lachman")]),
    )
    for seed, done in runs:
        recipe = Recipe(seed=seed, curriculum="ligaments", setting=Setting.SPECIALIST_CLINIC)
        run = begin_run(actor, recipe, Terms(minutes=8), now=now)
        events = [{"id": f"invented-practice-{run}-{at}", **each} for at, each in enumerate(done)]
        for result in add_events(actor, run, events, now=now):
            if result.problems:
                raise ValueError("; ".join(map(str, result.problems)))


def _begun() -> Iterator[dict[str, Any]]:
    for each in (*_COURTESIES, "exposure", "giving_way", "locking"):
        yield {"act": "do", "sign": each, "thought_s": 2}
    yield {"act": "watch_face"}


def _tested() -> Iterator[dict[str, Any]]:
    for test in _TESTS:
        yield from _on_both_sides(test)


def _on_both_sides(test: str) -> Iterator[dict[str, Any]]:
    for side in ("right", "left"):
        yield {"act": "do", "sign": test, "side": side, "thought_s": 3}


def _concluded() -> Iterator[dict[str, Any]]:
    yield {"act": "believe", "beliefs": [["acl_tear", 0.4], ["medial_meniscus_tear", 0.3]]}
    yield {"act": "record", "sign": "lachman", "side": "right", "level": "0"}
    yield {"act": "record", "sign": "lachman", "side": "left", "level": "1+"}
    yield {"act": "believe", "beliefs": [["acl_tear", 0.7], ["medial_meniscus_tear", 0.35]]}
    yield {"act": "complete", "would": ["MRI of the knee"]}
    yield {"act": "finish"}
