"""An examination written out fair, to be read and signed: its file, its letter, its patient's page."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType

from fabella.errors import InputError, Problem, Problems
from fabella.protocol import load_protocol
from fabella.record import Examination, Writing, check_examination, write_examination
from fabella.report import ADDRESSEE
from fabella.report.passages import Own
from fabella.store.clinic.concluded import concluded_tree
from fabella.store.clinic.earlier import NO_EARLIER, Earlier
from fabella.store.clinic.papers import NOBODYS, FairPaper, paper
from fabella.workup import Workup, run_workup

LONGEST_ADDRESSEE = 200
"""In characters, whether named at the signature or written on the letter (judgement)."""

NOBODYS_WORDS: Mapping[Writing, Own] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Fair:
    """An examination written out to be signed: its file, its papers, and with what they were made.

    ``earlier`` are the visits that the papers are held against; ``concluded`` is what it comes to in the
    letter's words and numbers, as JSON values.
    """

    file: str
    papers: tuple[FairPaper, ...]
    earlier: Earlier
    concluded: Mapping[str, object]
    edition: str
    program: str

    @property
    def letter(self) -> str:
        """The letter as plain text."""
        return self.papers[0].text

    def signed(self, signature: str) -> Fair:
        """Return the same with a line in its papers that says who signed them and when."""
        return replace(self, papers=tuple(replace(each, signature=signature) for each in self.papers))

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What has to be settled in the papers before they can be signed."""
        addressee = self.papers[0].document.addressee
        found = Problems(problem for each in self.papers for problem in each.problems())
        if len(addressee) > LONGEST_ADDRESSEE:
            remedy = f"write up to {LONGEST_ADDRESSEE} characters"
            found.add("letter, to", addressee[:40], "is too long", remedy)
        return tuple(found)


def workups(visits: Sequence[Examination]) -> tuple[Workup, ...]:
    """Return the workups of visits, one after the other."""
    return tuple(map(run_workup, visits))


def write_fair(
    examination: Examination,
    *,
    identity: str,
    signer: str,
    addressee: str,
    today: date,
    sender: tuple[str, ...] = (),
    earlier: Earlier = NO_EARLIER,
    own: Mapping[Writing, Own] = NOBODYS_WORDS,
    workup: Callable[[Examination], Workup] = run_workup,
    followed: Callable[[Sequence[Examination]], Sequence[Workup]] = workups,
) -> Fair:
    """Return what would be signed: the file of an examination, its letter and its patient's page.

    The same examination, identity of its patient, signer, sender, addressee, day, earlier visits, own words,
    edition and program give the same again. An ``addressee`` goes before one that was written on the letter;
    ``followed`` works up the earlier visits.
    Raises `InputError` when the examination contradicts itself or nothing was examined.
    """
    examination = replace(examination, examiner=signer)
    if not examination.sides:
        says, remedy = "hold nothing that was examined", "examine at least one knee, or leave the visit open"
        raise InputError.of(place="findings", says=says, remedy=remedy)
    check_examination(examination, protocol=load_protocol(), today=today)
    worked_up, before = workup(examination), followed(earlier.examinations)
    words = {writing: dict(own.get(writing, NOBODYS)) for writing in Writing}
    if addressee:
        words[Writing.LETTER].pop(ADDRESSEE, None)
    papers = (
        paper(
            writing,
            worked_up,
            written_on=today,
            identity=identity,
            earlier=before,
            own=words[writing],
            addressee=addressee,
        )
        for writing in Writing
    )
    return Fair(
        file=write_examination(examination),
        papers=tuple(replace(each, sender=sender) for each in papers),
        earlier=earlier,
        concluded=concluded_tree(worked_up),
        edition=worked_up.edition,
        program=worked_up.version,
    )
