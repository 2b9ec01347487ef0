from datetime import datetime

from fabella.report import as_text, build_letter, letter_document, not_signed, signed_words
from tests.report.made_up import WRITTEN_ON, twisted_knee

FIRST = datetime(2026, 2, 2, 9, 5).astimezone()
SECOND = datetime(2026, 2, 3, 14, 5).astimezone()


def test_who_signed_and_when_is_said_in_the_time_of_this_machine() -> None:
    """Name, day and minute; nothing of an amendment where there is none."""
    assert signed_words("Dr Invented", FIRST) == "Signed by Dr Invented on 2 February 2026, 09:05."


def test_an_amendment_says_which_it_is_and_what_it_replaces() -> None:
    """The second signature is that of the first amendment, and names the one before it."""
    assert signed_words("Dr Invented", SECOND, number=2, before=FIRST) == (
        "Signed by Dr Invented on 3 February 2026, 14:05. "
        "Amendment 1: it replaces what was signed on 2 February 2026, 09:05."
    )


def test_what_nobody_signed_says_so_at_its_head() -> None:
    """Below the title, before anything that it says."""
    text = as_text(not_signed(letter_document(build_letter(twisted_knee(), written_on=WRITTEN_ON))))
    assert "NOT SIGNED YET: MAY STILL CHANGE." in text
    assert text.index("NOT SIGNED YET") < text.index("FINDINGS")
    assert "Signed by" not in text
