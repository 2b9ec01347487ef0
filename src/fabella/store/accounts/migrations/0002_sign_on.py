"""By what the hospital's own sign-on names whose account it is."""

from typing import ClassVar

from django.db import migrations, models
from django.db.migrations.operations.base import Operation


class Migration(migrations.Migration):
    """Adds it, empty for every account there is."""

    dependencies: ClassVar[list[tuple[str, str]]] = [("accounts", "0001_initial")]

    operations: ClassVar[list[Operation]] = [
        migrations.AddField(
            model_name="account",
            name="sign_on",
            field=models.CharField(blank=True, max_length=255, null=True, unique=True),
        ),
    ]
