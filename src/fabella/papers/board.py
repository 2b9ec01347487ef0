"""The report to the exam board: what was decided, what it rests on, and what should be looked at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from math import isnan

from fabella.assess import Alternative, Analysis, Decision, StationsRule, write_rules
from fabella.papers.charts import as_figure, dependability_chart
from fabella.papers.judges import CAPTION, judge_rows, judge_words
from fabella.papers.missing import missing_blocks
from fabella.papers.pass_marks import pass_mark_blocks
from fabella.papers.reliability import examiner_blocks, reliability_blocks
from fabella.papers.words import (
    METHODS,
    OUTCOMES,
    RULES,
    basis_words,
    beside,
    flag_words,
    known,
    outcomes_words,
    range_words,
    refusal_words,
    share_words,
)
from fabella.report.document import Block, Document, Paragraph, Points, Section, Table
from fabella.report.wording import counted, sentence, written_date

_ONE_PERCENT = 0.01
_NAMED = 6  # candidates whose outcome another method would change; more are counted


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysed:
    """An analysed exam with what a report calls it; ``alternatives`` are the methods compared, if any.

    ``names`` are the words for codes of stations and items (`fabella.papers.words.names_of`). ``allotted``
    says who declared that candidates were allotted at random, or that nobody did; empty: nobody was asked.
    ``void`` says which sheets were lost or not held, and why, ``annulled`` which stations count for nobody.
    ``rules_from`` says who declared the rules, or of what day they were usual; empty: nobody was asked.
    """

    title: str
    held_on: date
    analysis: Analysis
    alternatives: tuple[Alternative, ...]
    target: float
    version: str
    names: Mapping[str, str] = field(default_factory=dict)
    allotted: str = ""
    void: tuple[str, ...] = ()
    annulled: tuple[str, ...] = ()
    rules_from: str = ""


def board_report(exam: Analysed) -> Document:
    """Return the report on a whole exam; candidates stand in it by their codes."""
    found = exam.analysis
    study = found.dependability.value
    sections: list[tuple[str, Sequence[Block]]] = [
        ("Decisions", tuple(_decisions(found))),
        ("Pass mark", tuple(pass_mark_blocks(found, exam.names))),
        ("Judges", tuple(_judges(found))),
        ("Other methods", tuple(_methods(exam.alternatives))),
        ("Second look", tuple(_review(found))),
        ("Reliability", tuple(reliability_blocks(found))),
        ("Examiners", (*examiner_blocks(found, exam.names), *_allotted(exam))),
        ("Missing", tuple(missing_blocks(found, exam.void, exam.annulled))),
        ("To look at", _points(flag_words(found.flags, exam.names))),
        ("To repeat it", tuple(_repeat(exam))),
    ]
    return Document(
        title="Report to the exam board",
        date=written_date(exam.held_on),
        addressee="",
        standing="",
        opening=(exam.title,),
        sections=tuple(Section(heading=name, blocks=tuple(blocks)) for name, blocks in sections if blocks),
        close="What stands here informs the board; the board decides.",
        foot=f"{exam.title}, {written_date(exam.held_on)}, marks {found.results.marks_digest[:12]}",
        figure=as_figure(dependability_chart(study, stations=found.coverage.stations, target=exam.target))
        if study and study.curve
        else None,
    )


def _decisions(found: Analysis) -> Iterator[Block]:
    results = found.results
    all_told = counted(len(results.decisions), "candidate")
    yield Paragraph(text=f"{all_told}: {outcomes_words(results)}.", weighty=True)
    rows = [
        (RULES[each.reason], str(len(each.by)), str(len(each.alone))) for each in found.effects if each.by
    ]
    if rows:
        yield Table(
            caption="What each rule did", header=("Rule", "Fail by it", "By it alone"), rows=tuple(rows)
        )
    if results.rules.stations is not StationsRule.NONE:
        needed = max((each.stations_needed for each in results.decisions), default=0)
        predicted = known(results.predicted_stations)
        why = "" if predicted == "–" else f"; {predicted} are predicted at the pass mark (Homer 2023)"
        yield Paragraph(text=f"{counted(needed, 'station')} had to be passed{why}.")
    failing = found.noise.failing
    if not isnan(failing.low):
        ends = f"{100 * failing.low:.0f} to {100 * failing.high:.0f}%"
        yield Paragraph(
            text=(
                f"Another cohort like this one would have moved the pass mark: {ends} would then score "
                "below it (95% interval)."
            )
            if len(results.pass_mark.resampled)
            else f"Of another cohort like this one {ends} would score below the pass mark (95% interval)."
        )
    if sure := found.classification.value:
        about = "About" if results.rules.by_score_alone else "By the whole score alone, about"
        yield Paragraph(
            text=(
                f"{about} {_share(sure.accuracy)} of decisions agree with the true score; "
                f"{_share(sure.false_pass)} pass and {_share(sure.false_fail)} fail wrongly. A second exam "
                f"of the same kind would decide {_share(sure.consistency)} alike "
                f"(kappa {known(sure.kappa)}). {sentence(basis_words(found.classification.basis))}"
            )
        )
    elif found.classification.refusal:
        why = refusal_words(found.classification.refusal)
        yield Paragraph(text=f"How many decisions agree with the true score cannot be told: {why}")


def _share(share: float) -> str:
    """Return a share in whole percent, which is all that the method tells; few are not none, nor most all."""
    if share < _ONE_PERCENT:
        return "less than 1%"
    return "more than 99%" if 1 - share < _ONE_PERCENT else share_words(share)


def _judges(found: Analysis) -> Iterator[Block]:
    if table := judge_rows(found):
        yield Table(caption=CAPTION, header=table[0], rows=table[1:])
    yield from (Paragraph(text=says) for says in judge_words(found))


def _methods(found: Sequence[Alternative]) -> Iterator[Block]:
    rows, none = [], []
    for each in found:
        if each.results is None:
            none.append(METHODS[each.method])
            continue
        cut = each.results.pass_mark.cut
        moved = (*(f"{c} fails" for c in each.newly_failed), *(f"{c} passes" for c in each.newly_passed))
        short = ", ".join(moved) if len(moved) <= _NAMED else counted(len(moved), "candidate")
        rate = share_words(each.pass_rate)
        rows.append((METHODS[each.method], f"{cut.estimate:.1f}%", range_words(cut), rate, short))
    if len(rows) > 1:
        header = ("Method", "Pass mark", "95% interval", "Pass", "Would change")
        yield Table(caption="Methods side by side", header=header, rows=tuple(rows))
        yield Paragraph(text="The method was chosen beforehand; the others show what rests on the choice.")
    if none:
        yield Paragraph(text=f"These marks give no pass mark by: {'; '.join(none)}.")


def _review(found: Analysis) -> Iterator[Block]:
    if not found.review:
        return
    near = found.results.rules.review_sems
    errors = "standard error" if near == 1 else "standard errors"
    yield Paragraph(
        text=f"Within {near:g} {errors} of measurement of their pass mark, or with too little evidence:"
    )
    rows = tuple(
        (
            each.decision.candidate,
            *_beside(each.decision),
            known(each.sems),
            f"{each.decision.stations_passed} of {each.decision.stations_taken}",
            OUTCOMES[each.decision.outcome],
        )
        for each in found.review
    )
    header = ("Candidate", "Score ± error", "To pass", "Distance, SEM", "Stations passed", "Decision")
    yield Table(caption="Candidates to look at again", header=header, rows=rows)


def _beside(decision: Decision) -> tuple[str, str]:
    """Return a score with its own error, and the pass mark beside it."""
    score, bar = beside(decision.total, decision.pass_mark)
    return score if isnan(decision.sem) else f"{score} ± {decision.sem:.1f}", bar


def _allotted(exam: Analysed) -> Iterator[Block]:
    if exam.allotted:
        yield Paragraph(label="Allotment", text=exam.allotted)


def _repeat(exam: Analysed) -> Iterator[Block]:
    results = exam.analysis.results
    rules = sha256(write_rules(results.rules).encode()).hexdigest()
    yield Paragraph(
        text=(
            "From the frozen marks and rules the same pass mark and decisions follow, whenever it is done "
            f"again: random numbers come from the digest of the marks. Computed with version {exam.version}."
        )
    )
    yield Paragraph(label="Marks, SHA-256", text=results.marks_digest)
    yield Paragraph(label="Rules, SHA-256", text=rules)
    if exam.rules_from:
        yield Paragraph(label="Rules", text=exam.rules_from)


def _points(texts: Sequence[str]) -> tuple[Block, ...]:
    return (Points(texts=tuple(map(sentence, texts))),) if texts else ()
