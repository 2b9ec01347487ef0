"""From the text of a file to one examination, or to one message that lists everything wrong with it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fabella.anatomy import Side
from fabella.protocol import Protocol
from fabella.record.context import NO_COMPLAINT, Acuity, Context, Mechanism, Patient, Setting, Sex
from fabella.record.contradictions import contradictions, onset_before_birth, swelling_contradicts
from fabella.record.examination import FORMAT, Answer, Examination, History, Origin
from fabella.record.finding import Finding
from fabella.record.finding_reader import read_finding, read_history
from fabella.record.imaging_reader import read_imaging
from fabella.record.jsontext import shown
from fabella.record.layout import (
    CONDUCT_KEYS,
    CONTEXT_KEYS,
    EXAMINATION_KEYS,
    ID,
    LINE,
    MAX_AGE_YEARS,
    MAX_ONSET_DAYS,
    PATIENT_KEYS,
    PROSE,
    WORDS,
)
from fabella.record.outcome_reader import read_procedure, read_totals
from fabella.record.section import Section, read_object
from fabella.record.writer import write_examination


def read_examination(text: str | bytes, *, protocol: Protocol, today: date, line: int = 1) -> Examination:
    """Return the examination that a text in the format `fabella.examination/1` holds.

    Parameters
    ----------
    text
        JSON; bytes must be UTF-8. Key order and whitespace are free; a key that is null counts as absent.
    protocol
        Names the signs, their sides, levels, units and ranges.
    today
        The day after which nothing can have been examined.
    line
        The number of the text's first line, for messages.

    Raises
    ------
    InputError
        Listing every problem with its place, value, and what is allowed. Nothing is half read.
    """
    return read_object(text, lambda top: _examination(top, protocol, today), keys=EXAMINATION_KEYS, line=line)


def check_examination(examination: Examination, *, protocol: Protocol, today: date) -> None:
    """Raise `InputError` listing everything for which the file of an examination would be refused."""
    read_examination(write_examination(examination), protocol=protocol, today=today)


def _examination(top: Section, protocol: Protocol, today: date) -> Examination | None:
    """Return the examination; None, or one with gaps, when problems were noted."""
    top.require("format", f"write {FORMAT}")
    top.require("id", f"write {WORDS[ID]}")
    top.require("origin", f"allowed: {', '.join(Origin)}")
    top.word("format", [FORMAT])
    identity = top.text("id", ID)
    origin = top.choice("origin", Origin)
    if origin is Origin.PUBLISHED:
        top.require("source", "cite where the case was published")
    source = top.text("source", PROSE)
    examined_on = top.day("examined_on", until=today, beyond="lies in the future")
    examiner = top.text("examiner", LINE)
    patient = _patient(top)
    context = _context(top, patient, examined_on or today)
    consent_given, chaperone_offered, pain_asked, conclusion_hidden = map(top.boolean, CONDUCT_KEYS)
    history = _history(top, protocol)
    totals = read_totals(top)
    imaging = read_imaging(top, until=examined_on or today)
    findings = _findings(top, protocol)
    if identity is None or origin is None:
        return None
    return Examination(
        id=identity,
        origin=origin,
        source=source,
        examined_on=examined_on,
        examiner=examiner,
        patient=patient,
        context=context,
        history=history,
        totals=totals,
        imaging=imaging,
        findings=findings,
        consent_given=consent_given,
        chaperone_offered=chaperone_offered,
        pain_asked=pain_asked,
        conclusion_hidden=conclusion_hidden,
    )


def _patient(top: Section) -> Patient:
    if not top.given("patient"):
        return Patient()
    section = Section(top.raw("patient"), place="patient", keys=PATIENT_KEYS, notes=top.notes)
    return Patient(
        age_years=section.number("age_years", 0, MAX_AGE_YEARS, "years"),
        sex=section.choice("sex", Sex),
        label=section.text("label", LINE),
    )


def _context(top: Section, patient: Patient, until: date) -> Context:
    if not top.given("context"):
        return Context()
    section = Section(top.raw("context"), place="context", keys=CONTEXT_KEYS, notes=top.notes)
    context = Context(
        setting=section.choice("setting", Setting),
        acuity=section.choice("acuity", Acuity),
        onset_days=section.number("onset_days", 0, MAX_ONSET_DAYS, "days"),
        mechanism=section.choice("mechanism", Mechanism),
        mechanism_words=section.text("mechanism_words", PROSE),
        complaint=_complaint(section),
        procedure=read_procedure(section, until=until),
    )
    if onset_before_birth(patient.age_years, context.onset_days):
        section.wrong("onset_days", f"lies before birth at patient.age_years: {shown(patient.age_years)}")
    return context


def _complaint(section: Section) -> tuple[Side, ...] | None:
    """Return the knees complained of, empty when neither is; None when that is unknown."""
    return () if section.raw("complaint") == NO_COMPLAINT else section.sides("complaint") or None


def _history(top: Section, protocol: Protocol) -> History:
    if not top.given("history"):
        return History()
    section = Section(top.raw("history"), place="history", keys=None, notes=top.notes)
    answers: dict[str, Answer] = read_history(section, protocol)
    if swelling_contradicts(answers):
        section.wrong("swelling_onset_hours", "contradicts history.swelling_noticed: false")
    return History(answers)


def _findings(top: Section, protocol: Protocol) -> tuple[Finding, ...]:
    placed: dict[int, Finding] = {}
    first: dict[tuple[str, Side | None], int] = {}
    for place, written in enumerate(top.members("findings")):
        finding = read_finding(written, place=f"findings[{place}]", protocol=protocol, notes=top.notes)
        if finding is None:
            continue
        earlier = first.setdefault((finding.sign, finding.side), place)
        if earlier != place:
            knee = f"the {finding.side} knee" if finding.side else "the person"
            agree = "agree" if _bare(finding) == _bare(placed[earlier]) else "disagree"
            says = f"is stated twice for {knee}, first at findings[{earlier}]; the two {agree}"
            top.notes.add(f"findings[{place}]", finding.sign, says, "keep one")
        placed[place] = finding
    for each in contradictions(placed):
        says = f"contradicts findings[{each.earlier}] ({placed[each.earlier].sign}): {each.why}"
        top.notes.add(f"findings[{each.later}]", placed[each.later].sign, says, "correct one of them")
    return tuple(placed.values())


def _bare(finding: Finding) -> Finding:
    """Return a finding without what is said about it, to compare what was found."""
    return replace(finding, method=None, note=None)
