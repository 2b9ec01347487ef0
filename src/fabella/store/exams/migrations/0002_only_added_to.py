"""The database itself refuses to change or remove anything of an exam."""

from typing import Any, ClassVar

from django.db import migrations

from fabella.store import only_added_to
from fabella.store.only_added_to import Kept

_SHEET = "kept.candidate = NEW.candidate AND kept.station = NEW.station AND kept.examiner = NEW.examiner"
_IN_SHEET = f"(kept.exam_id = NEW.exam_id AND {_SHEET} AND kept.number = NEW.number)"
KEPT = (
    Kept("exams_exam", "exams"),
    Kept(
        "exams_exampaper",
        "papers of an exam",
        "(kept.exam_id = NEW.exam_id AND kept.name = NEW.name AND kept.version = NEW.version)",
    ),
    Kept("exams_examstage", "stages of an exam"),
    Kept("exams_examcode", "codes", "kept.code_hash = NEW.code_hash"),
    Kept("exams_examcodeend", "ends of codes", "kept.code_id = NEW.code_id"),
    Kept("exams_markevent", "marks", f"(kept.exam_id = NEW.exam_id AND kept.key = NEW.key) OR {_IN_SHEET}"),
    Kept("exams_examresult", "results", "(kept.exam_id = NEW.exam_id AND kept.number = NEW.number)"),
)


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    only_added_to.forbid_changes(editor, KEPT, function="exams_only_added_to")


class Migration(migrations.Migration):
    """Triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("exams", "0001_initial")]
    operations: ClassVar = [migrations.RunPython(forbid_changes, elidable=False)]
