"""What was understood of a dictation as a page of the terminal; what is open is numbered in the text."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType

from fabella.anatomy import Side
from fabella.cli.drawing import heading, paragraph
from fabella.dictation import Understood
from fabella.protocol import load_protocol
from fabella.report.dictated import answer_words, finding_words, marked, open_words, told_words
from fabella.report.imaging_words import image_place, said_of

_HEADINGS = ((Side.RIGHT, "Right knee"), (Side.LEFT, "Left knee"), (None, "The person"))


def page_of(understood: Understood) -> Iterator[RenderableType]:
    """Yield the page: the findings of each knee, what was told, the text with what is open, the questions."""
    protocol = load_protocol()
    wide = understood.of_whole
    for side, title in _HEADINGS:
        found = [each for each in understood.findings if each.side is side]
        if not found and side not in understood.said_normal:
            continue
        yield heading(title)
        yield from (paragraph(finding_words(each, protocol)) for each in found if each not in wide)
        if included := [protocol.sign(each.sign).name for each in found if each in wide]:
            yield paragraph(f"Said to be normal, which includes: {'; '.join(included)}")
    told = [*told_words(understood.patient), *told_words(understood.context)]
    told += [
        f"{protocol.sign(item).name}: {answer_words(answer, protocol.sign(item))}"
        for item, answer in understood.history.items()
    ]
    if told:
        yield heading("Told")
        yield from map(paragraph, told)
    if understood.imaging:
        yield heading("Images")
        yield from (paragraph(f"{image_place(each)}: {said_of(each)}") for each in understood.imaging)
    if understood.is_complete:
        return
    yield heading("Open: what is in brackets")
    yield paragraph(marked(understood))
    for number, line in enumerate(open_words(understood), start=1):
        yield paragraph(line, mark=f"{number}.")
