"""``fabella evidence``: what is published on a sign, which number is used and why, what else it rests on."""

import dataclasses
from collections.abc import Iterator
from typing import Annotated, Any

import typer
from rich.console import Console, RenderableType
from rich.text import Text

from fabella.cli.drawing import bar, cells_for, heading, labelled, open_console, paragraph, show, strokes_for
from fabella.cli.evidence_behind import behind, behind_page, behind_tree, untaken_words
from fabella.cli.streams import print_json
from fabella.errors import UsageError
from fabella.evidence import (
    LATEST,
    Edition,
    SignEvidence,
    SourceEvidence,
    StudyAcuity,
    StudySetting,
    describe,
    describe_source,
    load_edition,
    signs,
)
from fabella.evidence.dossier import AgreementRow, PlainNumber, Question, Rival, SignSummary
from fabella.evidence.knowledge import load_knowledge
from fabella.protocol import load_protocol
from fabella.report.forest import UsedRow, forest, typeset
from fabella.report.study_words import comparison_words, statistic_words, target_words, whom_words
from fabella.report.wording import counted
from fabella.stats.written import number_words, share_words, spaced

_LABEL = len("sensitivity")  # characters of the column of names beside every source


def evidence(
    sign: Annotated[
        str | None, typer.Argument(help="A sign, e.g. lachman; without it, the list of signs.")
    ] = None,
    *,
    source: Annotated[
        str | None, typer.Option(help="What is taken from one source, e.g. sokal_2022.")
    ] = None,
    setting: Annotated[StudySetting | None, typer.Option(help="Where the answer is to be used.")] = None,
    acuity: Annotated[StudyAcuity | None, typer.Option(help="How long after the injury or onset.")] = None,
    edition: Annotated[str, typer.Option(help="Edition of the evidence tables.")] = LATEST,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Show what is published on a sign, which of rival numbers is used and why."""
    if sign is not None and source is not None:
        raise UsageError("ask for a sign or for --source, not for both")
    tables = load_edition(edition)
    answer: SignEvidence | SourceEvidence | tuple[SignSummary, ...]
    if source is not None:
        answer = describe_source(tables, source)
    elif sign is not None:
        answer = _unpublished(tables, sign) or describe(tables, sign, setting=setting, acuity=acuity)
    else:
        answer = signs(tables)
    if as_json:
        print_json(_plain(answer, tables))
    else:
        _show(answer, tables)


def _unpublished(edition: Edition, sign: str) -> SignEvidence | None:
    """Return an empty answer for a sign of the protocol that no table of accuracy has, None for any other."""
    published = any(each.sign_id == sign for each in signs(edition)) or edition.gaps_of(sign)
    if published or sign not in load_protocol():
        return None
    name = load_protocol().sign(sign).name
    return SignEvidence(edition=edition.id, sign_id=sign, name=name, questions=(), agreement=(), gaps=())


def _plain(answer: SignEvidence | SourceEvidence | tuple[SignSummary, ...], edition: Edition) -> Any:
    if isinstance(answer, tuple):
        return [dataclasses.asdict(each) for each in answer]
    tree = dataclasses.asdict(answer)
    if isinstance(answer, SignEvidence):
        for question, asked in zip(tree["questions"], answer.questions, strict=True):
            question["model_uses"] = [
                {
                    "sensitivity": each.sensitivity.words,
                    "specificity": each.specificity.words,
                    "where": each.where,
                    "pooled_by_us": each.by_us,
                    "because": each.why,
                }
                for each in _taken(answer, asked, edition)
            ]
        tree |= behind_tree(behind(edition, answer.sign_id))
    return tree


def _taken(answer: SignEvidence, question: Question, edition: Edition) -> tuple[UsedRow, ...]:
    """Return the numbers on a question that the model of the knee is fitted to."""
    asked = forest(
        edition, load_knowledge(), answer.sign_id, target=question.target, read=question.finding_level
    )
    return tuple(each for each in asked.used if each.sign == answer.sign_id)


def _show(answer: SignEvidence | SourceEvidence | tuple[SignSummary, ...], edition: Edition) -> None:
    console = open_console()
    if isinstance(answer, SignEvidence):
        show(console, _sign_page(console, answer, edition))
    elif isinstance(answer, SourceEvidence):
        show(console, _source_page(answer))
    else:
        show(console, _list_page(answer, edition.id))


def _list_page(answer: tuple[SignSummary, ...], edition_id: str) -> Iterator[RenderableType]:
    yield heading(f"Signs with evidence, edition {edition_id}")
    rows = ((each.sign_id, f"{each.name}: {_counted(each)}") for each in answer)
    yield labelled(rows, gap=2)
    yield paragraph("One sign: fabella evidence lachman")


def _counted(each: SignSummary) -> str:
    counts = ((each.accuracy_sources, "accuracy"), (each.agreement_sources, "agreement"))
    said = (f"{counted(count, 'source')} on {what}" for count, what in counts if count)
    return ", ".join(said) or "nothing measured"


def _sign_page(console: Console, answer: SignEvidence, edition: Edition) -> Iterator[RenderableType]:
    stands = behind(edition, answer.sign_id)
    yield Text(f"{answer.name} ({answer.sign_id}), edition {answer.edition}", style="bold")
    for question in answer.questions:
        yield Text()
        yield heading(_asked(question))
        first = next((rival.source.citation for rival in question.rivals if rival.used), "none")
        taken = [
            f"sensitivity {each.sensitivity.words}, specificity {each.specificity.words}, {each.where}"
            + (f": {each.why}" if each.why else "")
            for each in _taken(answer, question, edition)
        ]
        yield labelled(
            (
                ("the model uses", "; ".join(taken) or untaken_words(stands)),
                ("first in order", first),
                ("because", question.reason),
            )
        )
        for rival in question.rivals:
            yield Text()
            yield from _rival(console, rival)
    if answer.agreement:
        yield Text()
        yield heading("Agreement between examiners")
        yield labelled((_agreed(row), _agreement(row, answer.name)) for row in answer.agreement)
    if not answer.questions:
        yield paragraph("No accuracy of this sign is published that we know of.")
    for gap in answer.gaps:
        yield paragraph(f"Not found: {gap}")
    if stands is not None:
        yield from behind_page(stands)


def _rival(console: Console, rival: Rival) -> Iterator[RenderableType]:
    """Yield one source: its name and place, its bars on a scale from 0 to 1, and what stands beside them."""
    style = "bold" if rival.used else "dim" if rival.barred else ""
    yield paragraph(f"{_source(rival)}: {rival.reason.rstrip('.')}", style=style)
    knees = "" if rival.knees is None else counted(rival.knees, "knee")
    whom = whom_words(rival.setting, rival.acuity, rival.anaesthesia)
    rows = (
        ("sensitivity", _drawn(console, rival.sensitivity)),
        ("specificity", _drawn(console, rival.specificity)),
        ("LR+", _ratio(rival.lr_positive)),
        ("LR−", _ratio(rival.lr_negative)),
        ("in whom", "; ".join(filter(None, (knees, whom)))),
    )
    yield labelled(((f"{name:<{_LABEL}}", said) for name, said in rows if said), indent=4, style=style)


def _asked(question: Question) -> str:
    """Return what was asked, as a heading: the target, and how the sign was read."""
    target = target_words(question.target)
    return f"{target[0].upper()}{target[1:]}, sign read as {typeset(question.finding_level)}"


def _drawn(console: Console, number: PlainNumber | None) -> str:
    """Return a bar with its number; without a drawn interval when none was printed."""
    if number is None or number.value is None:
        return _number(number)
    low = number.value if number.low is None else min(number.low, number.value)
    high = number.value if number.high is None else max(number.high, number.value)
    drawn = bar(number.value, low, high, cells=cells_for(console), strokes=strokes_for(console))
    return f"{drawn}  {_number(number)}"


def _agreed(row: AgreementRow) -> str:
    return _with_standing(row.source.short, row.standing)


def _agreement(row: AgreementRow, sign: str) -> str:
    """Return how far examiners agreed; how it was examined stands first where it is not the sign's name."""
    what = statistic_words(row.statistic)
    value = _number(row.number)
    if not value:
        said = f"{what} not printed ({row.notes.rstrip('.')})"
    elif row.summary == "lower_bound" and row.number is not None:
        said = f"{what} over {share_words(row.number.low, None, None)}"
    elif row.summary == "range":
        said = f"{what}, {value}"
    else:
        said = " ".join(filter(None, (row.summary, what, value)))
    name = "" if row.name == sign else f"{row.name}: "
    return f"{name}{said}, {'; '.join(filter(None, (comparison_words(row.comparison), row.population)))}"


def _source_page(answer: SourceEvidence) -> Iterator[RenderableType]:
    source = answer.source
    recalled = f"{answer.recalled} of {sum(answer.rows.values())} rows are values from memory"
    yield Text(source.citation, style="bold")
    for line in filter(None, (source.identifier, spaced(source.kind), source.remark)):
        yield paragraph(line)
    if answer.recalled:
        yield paragraph(f"{recalled}, original not re-read")
    yield heading(f"Taken from it, edition {answer.edition}")
    yield labelled(
        (f"{spaced(kind)} {count}", ", ".join(answer.subjects[kind])) for kind, count in answer.rows.items()
    )


def _source(rival: Rival) -> str:
    """Return the name of a source, and what its value rests on unless its place says so already."""
    name = _with_standing(rival.source.short, rival.standing)
    said = rival.standing.removeprefix("published; ") in rival.reason
    return rival.source.short if said else name


def _with_standing(name: str, standing: str) -> str:
    return name if standing == "published" else f"{name} ({standing.removeprefix('published; ')})"


def _number(number: PlainNumber | None) -> str:
    """Return a share or coefficient with its ends, and what they are when no interval of confidence."""
    if number is None:
        return ""
    kind = "" if number.interval in {"none", "confidence"} else f"{number.interval} "
    ends = (None, None) if number.interval == "none" else (number.low, number.high)
    words = share_words(number.value, *ends)
    return f"{kind}{words}" if number.value is None else words.replace("(", f"({kind}")


def _ratio(number: PlainNumber | None) -> str:
    return "" if number is None else number_words(number.value, number.low, number.high)
