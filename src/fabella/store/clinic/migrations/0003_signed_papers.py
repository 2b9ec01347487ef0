"""Letters and patient's pages as they were signed, which are only ever added to."""

from importlib import import_module
from typing import Any, ClassVar

import django.db.models.deletion
from django.db import migrations, models

from fabella.store.only_added_to import Kept

_EARLIER = import_module("fabella.store.clinic.migrations.0002_only_added_to")


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    same = "(kept.signature_id = NEW.signature_id AND kept.kind = NEW.kind)"
    _EARLIER.keep(editor, [Kept("clinic_paper", "signed papers", same)])


class Migration(migrations.Migration):
    """A table with triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("clinic", "0002_only_added_to")]
    operations: ClassVar = [
        migrations.CreateModel(
            name="Paper",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(choices=[("letter", "letter"), ("summary", "summary")], max_length=10),
                ),
                ("written_on", models.DateField()),
                ("text", models.TextField()),
                ("computed", models.TextField()),
                ("passages", models.TextField()),
                ("page", models.BinaryField()),
                ("pdf_sha256", models.CharField(max_length=64)),
                (
                    "signature",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="papers",
                        to="clinic.signature",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("signature", "kind"), name="clinic_paper_kind")
                ],
            },
        ),
        migrations.RunPython(forbid_changes, elidable=False),
    ]
