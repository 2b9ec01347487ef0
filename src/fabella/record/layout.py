"""What may stand where in a file, apart from what the protocol decides; reader, writer and schema share it.

The limits are judgements (common practice): wide enough for any patient, narrow enough to catch a slip.
"""

from dataclasses import fields

from fabella.protocol import Kind, Sign
from fabella.record.context import Context, Patient
from fabella.record.finding import Finding
from fabella.record.imaging import Imaging
from fabella.record.totals import Procedure, Total

MAX_AGE_YEARS = 120
MAX_ONSET_DAYS = 120 * 366

# Keys in the order in which they are written.
CONDUCT_KEYS = ("consent_given", "chaperone_offered", "pain_asked", "conclusion_hidden")
EXAMINATION_KEYS = (
    *("format", "id", "origin", "source", "examined_on", "examiner", "patient", "context"),
    *CONDUCT_KEYS,
    *("history", "totals", "imaging", "findings"),
)
PATIENT_KEYS = tuple(each.name for each in fields(Patient))
CONTEXT_KEYS = tuple(each.name for each in fields(Context))
PROCEDURE_KEYS = tuple(each.name for each in fields(Procedure))
TOTAL_KEYS = tuple(each.name for each in fields(Total))
IMAGING_KEYS = tuple(each.name for each in fields(Imaging))
FINDING_KEYS = tuple(each.name for each in fields(Finding))
READING_KEYS = ("level", "value", "unit", "method")  # only a sign that was examined has any of them

# Texts as regular expressions that mean the same in Python and in JavaScript; "(?![\s\S])" is the very end.
# Never blank, never with control characters; PROSE may break lines and indent, LINE may not.
ID = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,99}(?![\s\S])"
OPERATION_ID = r"^[A-Za-z0-9-]{16,64}(?![\s\S])"
LINE = r"^(?=[\s\S]*\S)[^\u0000-\u001f\u007f-\u009f\u2028\u2029]{1,200}(?![\s\S])"
PROSE = r"^(?=[\s\S]*\S)[^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]{1,4000}(?![\s\S])"
DATE = r"^(?:19|[2-9][0-9])[0-9]{2}-[0-9]{2}-[0-9]{2}(?![\s\S])"

WORDS = {
    ID: "1 to 100 letters, digits, dots, dashes and underscores, the first a letter or digit",
    OPERATION_ID: "16 to 64 letters, digits and dashes",
    LINE: "one line of 1 to 200 characters",
    PROSE: "1 to 4000 characters without control characters",
    DATE: "a day from 1900 on, written YYYY-MM-DD",
}


def is_examined(sign: Sign) -> bool:
    """Return whether a finding can be about a sign: it is no question of the history and no courtesy."""
    return sign.kind not in {Kind.HISTORY, Kind.COURTESY}
