"""A second exam of the invented clinic, still a draft: two stations, a plan, people and their timetable."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from fabella.exam import make_timetable, propose_station, write_station, write_timetable
from fabella.protocol import load_protocol
from fabella.store import Actor
from fabella.store.exams.leading import exams_of, make_exam
from fabella.store.exams.papers import STATION, TIMETABLE, put_paper
from fabella.web.examining.day_plan import PLAN, USUAL, write_plan
from fabella.web.examining.drafting import ORDER, draft_of, write_order
from fabella.web.examining.people import CANDIDATES, EXAMINERS

NAME: Final = "Knee examination, second sitting"
_STATIONS = (("1", "ligaments"), ("2", "whole_knee"))
_CANDIDATES = """\
candidate,extra time,conflicts,site
R01,,,
R02,25 %,,
R03,,Copper,
R04,,,
R05,,,
R06,,,
"""
_EXAMINERS = """\
examiner,stations,site,reserve,away
Copper,,,,
Willow,1; 2,,,
Ferry,,,yes,
"""
_PLAN = {**USUAL, "rounds": "3", "rests": "1", "longer": "3: 25 %"}


def draft_when_nobody_did(actor: Actor, *, now: datetime) -> None:
    """Keep the draft unless there is one."""
    if any(each.name == NAME for each in exams_of(actor)):
        return
    day = (now + timedelta(days=14)).astimezone().date()
    exam = make_exam(actor, NAME, day=day, now=now)
    for name, topic in _STATIONS:
        proposal = propose_station(load_protocol(), topic=topic, minutes=8, station_id=name)
        put_paper(actor, exam, STATION + name, write_station(proposal.station), now=now)
    for name, text in (
        (ORDER, write_order([name for name, _ in _STATIONS])),
        (PLAN, write_plan(_PLAN)),
        (CANDIDATES, _CANDIDATES),
        (EXAMINERS, _EXAMINERS),
    ):
        put_paper(actor, exam, name, text, now=now)
    table = make_timetable(draft_of(actor, exam).day(), seconds=3)
    put_paper(actor, exam, TIMETABLE, write_timetable(table), now=now)
