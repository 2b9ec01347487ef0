"""Words and pictures: the letter, the patient's page, the plate of both knees; computes nothing clinical."""

from fabella.report.document import Document
from fabella.report.gather import gather, readings_of
from fabella.report.letter import LetterContext, build_letter
from fabella.report.letter_document import letter_document
from fabella.report.likelihood_words import SCALE
from fabella.report.passages import ADDRESSEE, Placed, in_own_words, placed
from fabella.report.pdf import as_pdf
from fabella.report.plate import Plate, build_plate, render_plate
from fabella.report.readability import PAGE_GRADE, reading_grade
from fabella.report.readings import Outcome, Reading, Readings
from fabella.report.side_view import build_side_view, render_side_view
from fabella.report.signature import not_signed, signed_words
from fabella.report.summary import SummaryContext, build_summary
from fabella.report.summary_document import summary_document
from fabella.report.text import as_text

__all__ = [
    "ADDRESSEE",
    "PAGE_GRADE",
    "SCALE",
    "Document",
    "LetterContext",
    "Outcome",
    "Placed",
    "Plate",
    "Reading",
    "Readings",
    "SummaryContext",
    "as_pdf",
    "as_text",
    "build_letter",
    "build_plate",
    "build_side_view",
    "build_summary",
    "gather",
    "in_own_words",
    "letter_document",
    "not_signed",
    "placed",
    "reading_grade",
    "readings_of",
    "render_plate",
    "render_side_view",
    "signed_words",
    "summary_document",
]
