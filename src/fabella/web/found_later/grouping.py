"""The lesions in the order in which they are asked: what a report of the knee names first, then by tissue."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fabella.anatomy import load_tissues
from fabella.hands import Method

FIRST = "first"

ORDINARY = (
    "acl_tear",
    "pcl_tear",
    "mcl_tear",
    "lcl_tear",
    "plc_injury",
    "medial_meniscus_tear",
    "lateral_meniscus_tear",
    "osteochondral_lesion",
    "patellar_instability",
)
"""What an ordinary report of a scan or an arthroscopy of the knee says something about (common practice)."""

_BONE = "bone"
_WHOLE_KNEE = (Method.OPEN_OPERATION, Method.ARTHROSCOPY, Method.MRI)
_BONES_ONLY = (Method.RADIOGRAPH, Method.CT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A group of lesions that are asked together."""

    id: str
    title: str
    lesions: tuple[str, ...]


def asked(named: Iterable[str]) -> tuple[Asked, ...]:
    """Return the groups in the order in which they are asked; what was ``named`` likely comes first."""
    first = tuple(dict.fromkeys((*named, *ORDINARY)))
    rest = (
        Asked(id=each.id, title=each.name, lesions=tuple(one for one in each.lesions if one not in first))
        for each in load_tissues()
    )
    title = "Told as likely then, and what most reports name"
    return (Asked(id=FIRST, title=title, lesions=first), *(each for each in rest if each.lesions))


def looks_at_all(method: Method, group: str) -> bool:
    """Say whether one touch may state that the rest of a group was looked at and absent (judgement).

    A scan or an operation of the knee looks at all of it; a radiograph and a CT at the bones; every other
    method at what it was asked about, which has to be stated lesion by lesion.
    """
    return method in _WHOLE_KNEE or (method in _BONES_ONLY and group == _BONE)
