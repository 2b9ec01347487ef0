"""What cannot wait, in plain words for the patient's page; what two lines ask for alike is asked for once."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence

from fabella.packaged import packaged_table
from fabella.report.cannot_wait import Matter, matters_of, urgent_matters
from fabella.report.plain_imaging import films_state
from fabella.workup import Workup

_ASKED = re.compile(r"(?P<why>.+\.) (?P<ask>You need [^.]+\.)")


def plain_alarms(workup: Workup) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what cannot wait, the most urgent first, and what is not urgent but must not be missed."""
    matters, filmed = matters_of(urgent_matters(workup.alarms)), _filmed(workup)
    return _plain(matters, filmed, can_wait=False), _plain(matters, filmed, can_wait=True)


def _filmed(workup: Workup) -> Mapping[str, str]:
    """Return of each rule that is met what became of its image, of the knee that has least of it."""
    states: dict[str, set[str]] = {}
    for each in workup.alarms:
        if each.is_met:
            states.setdefault(each.rule, set()).add(films_state(workup.examination, each.side, each.rule))
    return {
        rule: next(each for each in ("", "unread", "read") if each in known) for rule, known in states.items()
    }


def _plain(matters: Sequence[Matter], filmed: Mapping[str, str], *, can_wait: bool) -> tuple[str, ...]:
    rules = [each.told.rule for each in matters if each.can_wait is can_wait]
    also = [one.rule for each in matters for one in (each.told, *each.also)]
    told = dict.fromkeys(plain_alarm(rule, beside=also, filmed=filmed.get(rule, "")) for rule in rules)
    return _asked_once(told)


def _asked_once(lines: Iterable[str]) -> tuple[str, ...]:
    """Return lines that end in the same request as one, at the place of the first."""
    together: dict[str, list[str]] = {}
    for line in lines:
        parted = _ASKED.fullmatch(line)
        together.setdefault(parted["ask"] if parted else line, []).append(parted["why"] if parted else "")
    return tuple(" ".join(filter(None, (*why, ask))) for ask, why in together.items())


def plain_alarm(rule: str, *, beside: Collection[str] = (), filmed: str = "") -> str:
    """Return what a rule that is met means, in plain words; a general line where it has none of its own.

    ``beside`` are the other rules told on the page: what one of them asks for is not asked for again.
    ``filmed`` is what `films_state` says of the knee: films that were taken are not asked for.
    """
    words = packaged_table("report/plain_alarms.toml")
    told = str(words["rule"].get(rule, words["other"]))
    for each in words["beside"]:
        if each["rule"] == rule and not set(beside).isdisjoint(each["of"]):
            told = str(each["words"])
            break
    if filmed:
        for each in words["filmed"]:
            told = told.replace(each["asks"], each[filmed])
    return told
