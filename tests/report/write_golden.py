"""Write the golden letters anew (``python -m tests.report.write_golden``); read every line that differs."""

from pathlib import Path

from fabella.report import as_text, build_letter, build_summary, letter_document, summary_document
from tests.report.made_up import EVERYBODY, WRITTEN_ON

GOLDEN = Path(__file__).parent / "golden"


def main() -> None:
    """Write letter and page of every invented patient."""
    for name, make in EVERYBODY.items():
        letter = build_letter(make(), written_on=WRITTEN_ON, addressee="Dr Example")
        (GOLDEN / f"{name}.txt").write_text(as_text(letter_document(letter)))
        page = build_summary(make(), written_on=WRITTEN_ON)
        (GOLDEN / f"{name}_page.txt").write_text(as_text(summary_document(page)))


if __name__ == "__main__":
    main()
