"""A workup with only what following it asks for: a small part, to be kept or sent between processes."""

from __future__ import annotations

from dataclasses import replace

from fabella.follow.undone import lasting, strongest
from fabella.workup import ANY_LEVEL, KneeConclusion, LesionProbability, Workup


def lightened(workup: Workup) -> Workup:
    """Return a workup that is followed as the whole one is, to the same `Course` and the same words.

    It keeps how likely each lesion was, and the strongest reasons for and against those that last; what
    cannot wait, the next step and all other reasons are left out.
    """
    if workup.conclusion is None:
        return replace(workup, alarms=(), advice=None)
    knees = tuple(map(_knee, workup.conclusion.knees))
    return replace(workup, alarms=(), advice=None, conclusion=replace(workup.conclusion, knees=knees))


def _knee(knee: KneeConclusion) -> KneeConclusion:
    followed = (
        each
        for each in knee.lesions
        if each.level == ANY_LEVEL or each.level in lasting().get(each.lesion, ())
    )
    return replace(knee, lesions=tuple(map(_entry, followed)), combinations=())


def _entry(entry: LesionProbability) -> LesionProbability:
    if entry.level != ANY_LEVEL or entry.lesion not in lasting():
        return replace(entry, reasons_for=(), reasons_against=())
    return replace(
        entry,
        reasons_for=strongest(entry.reasons_for),
        reasons_against=strongest(entry.reasons_against),
    )
