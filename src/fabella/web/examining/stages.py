"""How an exam stands, what it may become, and what is missing before that."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.errors import InputError, Problem
from fabella.report.wording import counted
from fabella.store import Actor
from fabella.store.exams.codes import Kind, code_lines
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import Stage
from fabella.store.exams.results import unreleasable
from fabella.store.exams.sheets import KeptSheet, readable_sheets, unsettled_of
from fabella.store.exams.stations import unready
from fabella.store.exams.typing_in import typists_of
from fabella.web.examining.drafting import Draft
from fabella.web.examining.station_work import times_of

STAGES = {
    Stage.DRAFT: "draft",
    Stage.OPEN: "open for marking",
    Stage.CLOSED: "closed",
    Stage.RELEASED: "results released",
}
"""Each stage in words."""

ONWARD = {Stage.DRAFT: Stage.OPEN, Stage.OPEN: Stage.CLOSED, Stage.CLOSED: Stage.RELEASED}
BACK = {after: before for before, after in ONWARD.items()}
PRESS = {
    Stage.OPEN: "Open it for marking",
    Stage.CLOSED: "Close it: no more marks",
    Stage.RELEASED: "Release the results",
}
"""What the button to each stage says."""

AFTERWARDS = {
    Stage.OPEN: "Examiners can then mark. Stations are frozen; the timetable can still be changed. Where "
    "nobody has declared rules, the usual ones are kept as they are then.",
    Stage.CLOSED: "Nobody can then mark. Marks can be analysed and decided upon.",
    Stage.RELEASED: "Candidates can then read their own result. Nothing of the exam changes any more.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Onward:
    """The next stage: what hinders it, and what one should know before, which hinders nothing.

    ``disputes``: sheets on which something has to be settled, with their station's name, which hinder it too.
    """

    stage: str
    press: str
    afterwards: str
    missing: tuple[str, ...]
    beware: tuple[str, ...]
    disputes: tuple[tuple[SheetKey, str], ...] = ()


def onward(actor: Actor, draft: Draft) -> Onward | None:
    """Return what an exam may become next; None once it is released."""
    stage = ONWARD.get(draft.exam.stage)
    if stage is None:
        return None
    if draft.unread:  # sheets and papers of such a station say nothing
        missing = tuple(f"Station {each} cannot be read by this program." for each in draft.unread)
        return Onward(
            stage=stage.value, press=PRESS[stage], afterwards=AFTERWARDS[stage], missing=missing, beware=()
        )
    return Onward(
        stage=stage.value,
        press=PRESS[stage],
        afterwards=AFTERWARDS[stage],
        missing=tuple(map(_said, _missing(draft, stage))),
        beware=tuple(_beware(actor, draft, stage)),
        disputes=disputed_sheets(draft) if stage is Stage.CLOSED else (),
    )


def disputed_sheets(draft: Draft) -> tuple[tuple[SheetKey, str], ...]:
    """Return the sheets on which something has to be settled, with their station's name."""
    keys = dict.fromkeys(each for each, _ in unsettled_of(draft.exam.id))
    return tuple((key, draft.names.get(key.station, key.station)) for key in keys)


def is_outdated(draft: Draft) -> bool:
    """Say whether plan, people or stations were changed after the timetable was made."""
    table = draft.timetable
    if table is None:
        return False
    try:
        return draft.day() != table.day
    except InputError:
        return True


def _missing(draft: Draft, stage: Stage) -> list[Problem]:
    if stage is Stage.OPEN:
        return [*_before_its_timetable(draft), *unready(draft.exam.id)]
    if stage is Stage.RELEASED:
        return unreleasable(draft.exam.id)
    return []


def _before_its_timetable(draft: Draft) -> tuple[Problem, ...]:
    """Return what has to be there, in the order in which it is done, before a first timetable can be made."""
    if draft.timetable is not None:
        return ()
    try:
        draft.day()
    except InputError as error:
        return error.problems
    return ()


def _beware(actor: Actor, draft: Draft, stage: Stage) -> Iterator[str]:
    exam_id = draft.exam.id
    if stage is Stage.OPEN:
        if is_outdated(draft):
            yield "Plan, people or stations were changed after the timetable was made."
        for station in draft.stations:
            if times_of(station).over_s:
                yield f"Station {station.id}, {station.title}: its items cannot be done in the time."
        without = [each.person for each in code_lines(actor, exam_id, Kind.EXAMINER) if each.at is None]
        if without:
            yield f"{len(without)} examiners have no code yet."
    if stage is Stage.CLOSED:
        yield from _beware_of_sheets(readable_sheets(actor, exam_id, draft.unread))


def _beware_of_sheets(sheets: tuple[KeptSheet, ...]) -> Iterator[str]:
    expected = [each for each in sheets if each.planned is not None and not each.is_excused]
    wanting = sum(1 for each in expected if not each.sheet.finished)
    if wanting:
        told = "is" if wanting == 1 else "are"
        yield f"{wanting} of {counted(len(sheets), 'mark sheet')} {told} not finished."
    silent = sum(1 for each in expected if each.sheet.is_blank)
    if silent:
        told = "1 is" if silent == 1 else f"{silent} are"
        yield f"{told} blank: say who was away or what was lost, or their marks count as missing."
    void = sum(1 for each in sheets if each.sheet.is_void)
    if void:
        yield f"{void} lost or not held: those stations count as void for their candidates."
    once = sum(1 for each in sheets if len(typists_of(each.sheet)) == 1)
    if once:
        told = "1 paper sheet was" if once == 1 else f"{once} paper sheets were"
        yield f"{told} typed in by one person alone: nothing was compared."
    left = sum(1 for each in sheets for one in each.sheet.disputes if one.left)
    if left:
        told = "1 dispute was" if left == 1 else f"{left} disputes were"
        yield f"{told} left open: what they are about counts as missing."


def _said(problem: Problem) -> str:
    value = f" {problem.value}" if problem.value else ""
    remedy = f"; {problem.remedy}" if problem.remedy else ""
    return f"{problem.place.capitalize()}{value} {problem.says}{remedy}."
