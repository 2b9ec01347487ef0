import io
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

import pypdf
import pytest
import typst
from pypdf.generic import DictionaryObject

from fabella.report import as_pdf, build_letter, build_summary, letter_document, summary_document
from fabella.report.document import Document, Figure, Paragraph, Section, Table
from fabella.report.pdf import STANDARD
from fabella.report.wording import unbroken
from tests.report import made_up
from tests.report.made_up import EVERYBODY, WRITTEN_ON

HOSTILE = '#import "secret.typ": * \\ $x$ *bold* _it_ `raw` <b> & "quoted" // gone? #(1+1) @ref'


@cache
def letter_of(name: str) -> Document:
    """The letter about one invented patient."""
    return letter_document(build_letter(EVERYBODY[name](), written_on=WRITTEN_ON, addressee="Dr Example"))


@cache
def pdf_of(name: str) -> bytes:
    """The same as PDF."""
    return as_pdf(letter_of(name), written_on=WRITTEN_ON)


def opened(content: bytes) -> pypdf.PdfReader:
    """A PDF as an independent program reads it (pypdf)."""
    return pypdf.PdfReader(io.BytesIO(content))


def test_numbers_keep_their_units_on_the_line() -> None:
    """No line of a text parts a number from its per cent sign; other spaces stay."""
    assert unbroken("50 % of 7 % each, about a % or 8 cm") == "50\u00a0% of 7\u00a0% each, about a % or 8 cm"


def text_of(content: bytes) -> str:
    """All text of a PDF on one line."""
    return " ".join(" ".join(page.extract_text() for page in opened(content).pages).split())


def elements(reader: pypdf.PdfReader) -> Iterator[DictionaryObject]:
    """Every element of the structure tree."""
    waiting: list[Any] = [reader.root_object["/StructTreeRoot"]]
    while waiting:
        node = waiting.pop().get_object()
        if isinstance(node, list):
            waiting.extend(node)
        elif isinstance(node, DictionaryObject):
            if "/S" in node:
                yield node
            if "/K" in node:
                waiting.append(node["/K"])


def kinds(reader: pypdf.PdfReader) -> set[str]:
    """The kinds of all elements of the structure tree."""
    return {str(each["/S"]) for each in elements(reader)}


@pytest.mark.parametrize("name", EVERYBODY)
def test_the_letter_is_tagged_titled_and_english(name: str) -> None:
    """Read back by pypdf: marked content, title, British English, headings, and PDF/UA-1 in the metadata."""
    reader = opened(pdf_of(name))
    catalogue: Any = reader.root_object
    assert catalogue["/MarkInfo"]["/Marked"]
    assert "en-GB" == str(catalogue["/Lang"])
    assert reader.metadata is not None
    assert "Examination of both knees" == reader.metadata.title
    assert {"/H1", "/H2", "/Figure"} <= kinds(reader)
    about = catalogue["/Metadata"].get_object().get_data().decode()
    assert re.search(r"pdfuaid:part(>|=\")1", about)


def test_tables_have_header_cells() -> None:
    """Measurements and probabilities are real tables with header cells."""
    assert {"/Table", "/TR", "/TH", "/TD"} <= kinds(opened(pdf_of("twisted_knee")))


@pytest.mark.parametrize("name", EVERYBODY)
def test_the_plate_has_its_words_as_alternative_text(name: str) -> None:
    """The figure carries the whole text equivalent of the plate."""
    figure = letter_of(name).figure
    assert isinstance(figure, Figure)
    alternatives = {str(each["/Alt"]) for each in elements(opened(pdf_of(name))) if "/Alt" in each}
    assert figure.alt in alternatives
    assert "Right knee: " in figure.alt
    assert "Left knee: " in figure.alt


@cache
def page_of(name: str) -> Document:
    """The patient's page about one invented patient."""
    return summary_document(build_summary(EVERYBODY[name](), written_on=WRITTEN_ON))


@pytest.mark.parametrize("name", EVERYBODY)
def test_each_paragraph_is_tagged_as_one(name: str) -> None:
    """A reader can go from paragraph to paragraph, in letters and on patients' pages."""
    for document in (letter_of(name), page_of(name)):
        told = [block for section in document.sections for block in section.blocks]
        tags = [str(each["/S"]) for each in elements(opened(as_pdf(document, written_on=WRITTEN_ON)))]
        assert tags.count("/P") >= sum(isinstance(block, Paragraph) for block in told) > 0


@pytest.mark.parametrize("name", EVERYBODY)
def test_the_drawing_on_the_patients_page_is_told_in_plain_words(name: str) -> None:
    """Its text equivalent is what was found on each knee, as the page says it."""
    figure = page_of(name).figure
    assert isinstance(figure, Figure)
    pdf = as_pdf(page_of(name), written_on=WRITTEN_ON)
    assert figure.alt in {str(each["/Alt"]) for each in elements(opened(pdf)) if "/Alt" in each}
    assert figure.caption in text_of(pdf)
    for side, told in build_summary(EVERYBODY[name](), written_on=WRITTEN_ON).found:
        assert all(f"Your {side} knee: " in figure.alt and sentence in figure.alt for sentence in told)


@pytest.mark.parametrize("more", range(0, 16, 3))
def test_a_patients_page_with_much_to_say_stays_as_long_as_its_words(more: int) -> None:
    """The drawing gives way to the words, and never takes a further sheet."""
    document = page_of("twisted_knee")
    talk = (Paragraph(text="You can ask us all you want. " * 3),) * more
    longer = (*document.sections, Section(id="more", heading="More", blocks=talk))
    drawn = as_pdf(replace(document, sections=longer), written_on=WRITTEN_ON)
    bare = as_pdf(replace(document, sections=longer, figure=None), written_on=WRITTEN_ON)
    assert len(opened(drawn).pages) == len(opened(bare).pages)


def words_of(page: pypdf.PageObject) -> str:
    """What stands on a sheet, on one line."""
    return " ".join(page.extract_text().split())


def longer(more: int) -> Document:
    """A letter with so many sentences more in its findings."""
    document = letter_of("twisted_knee")
    talk = (Paragraph(text="Nothing else was seen that would have to be told here. " * 3),) * more
    sections = [
        replace(each, blocks=(*each.blocks, *talk)) if each.id == "findings" else each
        for each in document.sections
    ]
    return replace(document, sections=tuple(sections), signature="Signed by Dr Invented.")


@pytest.mark.parametrize("more", [*range(0, 30, 2)])
def test_the_words_of_a_letter_stay_where_they_have_room(more: int) -> None:
    """However long the letter, the plate sends no word of it to another sheet, and adds one sheet at most."""
    told = [words_of(each) for each in opened(as_pdf(longer(more), written_on=WRITTEN_ON)).pages]
    bare = opened(as_pdf(replace(longer(more), figure=None), written_on=WRITTEN_ON)).pages
    for sheet, alone in zip(told, map(words_of, bare), strict=False):
        assert alone.split(" of ")[0] in sheet  # the last words of a sheet are how many there are
    assert len(bare) <= len(told) <= len(bare) + 1
    assert "Right knee" in told[-1].split("Signed by Dr Invented.")[-1]


def test_a_letter_whose_drawing_just_misses_the_sheet_is_set_closer() -> None:
    """It stands on one sheet then; what was signed before stays as it was, and nothing takes more sheets."""

    def sheets(more: int, layout: int) -> int:
        return len(opened(as_pdf(replace(longer(more), layout=layout), written_on=WRITTEN_ON)).pages)

    counted = [(sheets(more, 3), sheets(more, 4)) for more in range(12)]
    assert (2, 1) in counted
    assert all(now <= before for before, now in counted)
    assert counted[-1] == (2, 2)  # too much to say: it is not crammed
    crammed = opened(as_pdf(longer(11), written_on=WRITTEN_ON)).pages[0]
    loose = opened(as_pdf(replace(longer(11), layout=3), written_on=WRITTEN_ON)).pages[0]
    assert words_of(crammed) == words_of(loose)


@pytest.mark.parametrize("more", [*range(10, 30, 4)])
def test_every_sheet_of_a_letter_says_whose_it_is(more: int) -> None:
    """The first as its opening, the next at their head, once each."""
    opening = " ".join(longer(more).opening[0].split())
    sheets = [words_of(each) for each in opened(as_pdf(longer(more), written_on=WRITTEN_ON)).pages]
    assert len(sheets) > 1
    assert [each.count(opening) for each in sheets] == [1] * len(sheets)
    assert all(each.startswith(f"Examination of both knees: {opening}") for each in sheets[1:])


@pytest.mark.parametrize("more", [*range(0, 30, 2)])
def test_a_letter_of_the_second_arrangement_keeps_its_plate_in_company(more: int) -> None:
    """What was signed then is drawn so again: the sheet of the plate is that of its last words."""
    kept = replace(longer(more), layout=2)
    pages = [words_of(each) for each in opened(as_pdf(kept, written_on=WRITTEN_ON)).pages]
    assert "Signed by Dr Invented." in pages[-1]
    assert "Right knee" in pages[-1].split("Signed by Dr Invented.")[-1]
    assert not any("Examination of both knees:" in each for each in pages)


def test_what_was_kept_with_the_old_arrangement_is_drawn_in_it() -> None:
    """A letter that was signed when the plate could stand alone is drawn again as it was then."""
    alone = [
        "This letter supports" not in opened(as_pdf(each, written_on=WRITTEN_ON)).pages[-1].extract_text()
        for more in range(0, 30, 2)
        for each in (replace(longer(more), layout=1, signature=""),)
    ]
    assert any(alone)
    assert not all(alone)


def test_the_same_letter_gives_the_same_bytes() -> None:
    """Written twice, the file is the same; on another day it is not."""
    again = as_pdf(letter_of("worn_knees"), written_on=WRITTEN_ON)
    assert pdf_of("worn_knees") == again
    assert again != as_pdf(letter_of("worn_knees"), written_on=date(2026, 2, 4))


@pytest.mark.parametrize("name", EVERYBODY)
def test_an_ordinary_letter_and_every_page_fit_one_sheet(name: str) -> None:
    """Letter with plate, and patient's page, stand on one A4 sheet each."""
    page = as_pdf(
        summary_document(build_summary(EVERYBODY[name](), written_on=WRITTEN_ON)), written_on=WRITTEN_ON
    )
    assert 1 == len(opened(page).pages)
    assert 1 == len(opened(pdf_of(name)).pages)
    assert (595, 842) == tuple(round(float(each)) for each in opened(pdf_of(name)).pages[0].mediabox[2:])


def test_words_in_a_table_of_many_columns_have_room() -> None:
    """Three names beside four columns of numbers take two lines at the most."""
    names = "Birch fails, Maple fails, Quince fails"
    table = Table(
        caption="Methods",
        header=("Method", "Pass mark", "95% interval", "Pass", "Would change"),
        rows=(("contrasting groups, crossing curves", "56.3%", "52.8 to 60.4", "57%", names),),
    )
    told = replace(letter_of(next(iter(EVERYBODY))), sections=(Section(heading="Methods", blocks=(table,)),))
    page = opened(as_pdf(told, written_on=WRITTEN_ON)).pages[0]
    lines = page.extract_text().splitlines()
    assert len([each for each in lines if "fails" in each]) <= 2
    assert any("contrasting groups, crossing curves" in each for each in lines)


@pytest.mark.parametrize("name", EVERYBODY)
def test_only_the_type_we_chose_is_used_and_it_is_embedded(name: str) -> None:
    """Every font of the file is an embedded cut of Libertinus Serif: nothing depends on the machine."""
    fonts: list[Any] = []
    for page in opened(pdf_of(name)).pages:
        resources: Any = page["/Resources"]
        fonts.extend(font.get_object() for font in resources["/Font"].values())
    assert fonts
    for font in fonts:
        assert "LibertinusSerif" in str(font["/BaseFont"])
        described = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert {"/FontFile2", "/FontFile3"} & set(described)


def test_hostile_words_of_a_patient_stay_words() -> None:
    """Text that looks like source of the typesetter, or of the drawing, is printed as it was said."""
    workup = made_up.twisted_knee()
    context = replace(workup.examination.context, mechanism_words=HOSTILE)
    patient = replace(workup.examination.patient, label='O"Neil *& Sons* <svg> #pagebreak()')
    examination = replace(workup.examination, context=context, patient=patient)
    hostile = build_letter(
        replace(workup, examination=examination), written_on=WRITTEN_ON, addressee="#panic()"
    )
    told = text_of(as_pdf(letter_document(hostile), written_on=WRITTEN_ON))
    assert HOSTILE in told
    assert 'O"Neil *& Sons* <svg> #pagebreak()' in told
    assert "To #panic()" in told


def test_the_compiler_refuses_a_figure_without_words() -> None:
    """The standard is enforced by the compiler: a drawing without alternative text is refused."""
    source = b'#set document(title: "x")\n#figure(rect())'
    assert typst.compile(source, format="pdf").startswith(b"%PDF")
    with pytest.raises(typst.TypstError, match="alt"):
        typst.compile(source, format="pdf", pdf_standards=STANDARD)


def test_the_words_of_text_and_pdf_are_the_same() -> None:
    """What the PDF says of findings, reasons and plan stands in the plain text, word for word."""
    told = text_of(pdf_of("twisted_knee"))
    for section in letter_of("twisted_knee").sections:
        for block in section.blocks:
            if hasattr(block, "text") and hasattr(block, "weighty"):
                assert " ".join(block.text.split()).replace("- ", "-") in told.replace("- ", "-")


@pytest.mark.parametrize("words", ["slipped\r\n\ton ice", "slipped\r\ton ice", "slipped\ufeff on ice"])
def test_words_with_tabs_and_returns_make_a_page(words: str) -> None:
    """A note pasted with an indented second line or a mark of byte order is printed."""
    letter = letter_of("twisted_knee")
    page = text_of(as_pdf(replace(letter, opening=(words, r"C:\table")), written_on=WRITTEN_ON))
    assert "slipped on ice" in page
    assert r"C:\table" in page


def test_a_control_character_is_an_empty_box() -> None:
    """It is printed like what no font has, as is half of a character; what only looks like one stays."""
    letter = replace(letter_of("worn_knees"), addressee="a\x00b\x1bc\x08d\x7fe\ud83ef \\u0000")
    assert "a□b□c□d□e□f \\u0000" in text_of(as_pdf(letter, written_on=WRITTEN_ON))
