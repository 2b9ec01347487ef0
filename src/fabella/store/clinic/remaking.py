"""What was signed, made again from its record: with its own edition of the evidence, and held against it."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import fabella
from fabella.errors import FabellaError, InputError
from fabella.evidence import LATEST, edition_ids
from fabella.protocol import load_protocol
from fabella.record import Examination, Passage, Writing, read_examination
from fabella.report import ADDRESSEE, as_text, build_letter, letter_document
from fabella.store.clinic.earlier import read_earlier
from fabella.store.clinic.papers import paper
from fabella.store.clinic.signed_papers import SignedPaper
from fabella.store.clinic.trail import sha256
from fabella.store.clinic.visits import SignedRecord
from fabella.workup import Workup, workup_again

_MOST_LINES = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperComparison:
    """A letter or page made again, beside what was signed.

    Parameters
    ----------
    same_words, same_computed
        Whether the text is the signed one to the last character; the same of what the program says without
        anybody's own words. The second is None where it was not kept.
    same_drawing
        Whether the PDF drawn of what was kept has the bytes of the one drawn at the signature; None where
        that was not kept. Its words are the signed ones either way.
    differences
        Lines that differ, ``- `` as signed and ``+ `` as made again.
    """

    writing: Writing
    same_words: bool
    same_computed: bool | None
    same_drawing: bool | None
    differences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """What became of making a signature's papers again.

    Parameters
    ----------
    file_is_intact
        Whether the examination file still has the hash that was signed.
    edition, edition_now
        Of the evidence: that of the signature, with which it was made again, and the latest.
    program, program_now
        The version that signed, and the one that made it again.
    papers
        Each paper; none when it could not be made again.
    failure
        Why it could not; empty otherwise.
    """

    file_is_intact: bool
    edition: str
    edition_now: str
    program: str
    program_now: str
    papers: tuple[PaperComparison, ...]
    failure: str

    @property
    def is_exact(self) -> bool:
        """Whether everything came out as it was signed, to the last character."""
        words = all(each.same_words and each.same_computed is not False for each in self.papers)
        return self.file_is_intact and not self.failure and words

    @property
    def verdict(self) -> str:
        """What it comes to, in a sentence or two."""
        if not self.file_is_intact:
            return "The examination file is not the one that was signed: its hash differs. Check the trail."
        if self.failure:
            return f"It could not be made again: {self.failure} What was signed is kept and can be read."
        with_what = f"evidence {self.edition} and Fabella {self.program_now}"
        if self.is_exact:
            return f"Made again with {with_what}, it is what was signed, to the last character."
        newer = (
            f"It was signed with Fabella {self.program}, and a newer program words some of it otherwise."
            if self.program != self.program_now
            else f"It was signed with a program of the same version, {self.program}, that was not the same."
        )
        return f"Made again with {with_what}, it reads otherwise. {newer} What was signed stays as it was."


def remake(record: SignedRecord, *, workup: Callable[[Examination, str], Workup] | None = None) -> Comparison:
    """Make the papers of a signature again from its examination file, and compare them with what was signed.

    Parameters
    ----------
    record
        What was signed.
    workup
        Concludes an examination with an edition of the evidence; None takes the packaged one.
    """
    papers: tuple[PaperComparison, ...] = ()
    failure = ""
    try:
        papers = tuple(_papers(record, workup or _workup))
    except InputError as error:
        failure = "; ".join(map(str, error.problems)) + "."
    except FabellaError as error:
        failure = f"{error}."
    return Comparison(
        file_is_intact=sha256(record.file) == record.signature.sha256,
        edition=record.edition,
        edition_now=LATEST,
        program=record.program,
        program_now=fabella.__version__,
        papers=papers,
        failure=failure,
    )


def _workup(examination: Examination, edition: str) -> Workup:
    return workup_again(examination, edition=edition)


def _papers(record: SignedRecord, workup: Callable[[Examination, str], Workup]) -> list[PaperComparison]:
    if record.edition not in edition_ids():
        raise FabellaError(f"edition {record.edition} of the evidence is not packaged with this program")
    written_on = record.papers[0].written_on if record.papers else record.signature.at.astimezone().date()
    examination = read_examination(record.file, protocol=load_protocol(), today=written_on)
    worked_up = workup(examination, record.edition)
    if not record.papers:  # signed before papers were kept: the letter alone, without anybody's own words
        letter = build_letter(worked_up, written_on=written_on, addressee=record.addressee)
        made = as_text(letter_document(letter, drawn=False))
        return [_held(Writing.LETTER, record.letter, made)]
    files = dict.fromkeys(file for each in record.papers for file in each.earlier)
    earlier = [workup(read_earlier(file, examination), record.edition) for file in files]
    return [_compared(record, each, worked_up, earlier) for each in record.papers]


def _compared(
    record: SignedRecord, signed: SignedPaper, workup: Workup, earlier: Sequence[Workup]
) -> PaperComparison:
    own: dict[str, Passage] = {each.passage: each.own for each in signed.reworded}
    given = signed.writing is Writing.LETTER and ADDRESSEE not in own  # else it is one of the passages
    addressee = record.addressee if given else ""
    made = paper(
        signed.writing,
        workup,
        written_on=signed.written_on,
        identity=signed.identity,
        earlier=earlier,
        own=own,
        addressee=addressee,
    )
    made = replace(made, signature=signed.document.signature, sender=signed.document.sender)
    return _held(
        signed.writing,
        signed.text,
        made.text,
        same_computed=as_text(made.computed) == signed.computed,
        same_drawing=sha256(signed.pdf) == signed.pdf_sha256,
    )


def _held(
    writing: Writing,
    signed: str,
    made: str,
    *,
    same_computed: bool | None = None,
    same_drawing: bool | None = None,
) -> PaperComparison:
    lines = difflib.ndiff(signed.splitlines(), made.splitlines())
    differing = [line for line in lines if line[0] in "-+"]
    return PaperComparison(
        writing=writing,
        same_words=signed == made,
        same_computed=same_computed,
        same_drawing=same_drawing,
        differences=tuple(differing[:_MOST_LINES]),
    )
