"""Exams, their papers, stages, codes, marks and results."""

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    """Tables of exams."""

    initial = True
    dependencies: ClassVar = []
    operations: ClassVar = [
        migrations.CreateModel(
            name="Exam",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=80)),
                ("day", models.DateField()),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="ExamCode",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=12)),
                ("person", models.CharField(max_length=80)),
                ("code_hash", models.CharField(max_length=64, unique=True)),
                ("at", models.DateTimeField()),
                (
                    "exam",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="codes", to="exams.exam"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="ExamCodeEnd",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "code",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="end", to="exams.examcode"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="ExamStage",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("stage", models.CharField(max_length=12)),
                ("why", models.CharField(max_length=200)),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
                (
                    "exam",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="stages", to="exams.exam"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="ExamPaper",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=80)),
                ("version", models.PositiveIntegerField()),
                ("text", models.TextField()),
                ("why", models.CharField(max_length=200)),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
                (
                    "exam",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="papers", to="exams.exam"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("exam", "name", "version"), name="exams_paper_version")
                ],
            },
        ),
        migrations.CreateModel(
            name="ExamResult",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("text", models.TextField()),
                ("digest", models.CharField(max_length=64)),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
                (
                    "exam",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="results", to="exams.exam"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("exam", "number"), name="exams_result_number")
                ],
            },
        ),
        migrations.CreateModel(
            name="MarkEvent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("candidate", models.CharField(max_length=80)),
                ("station", models.CharField(max_length=80)),
                ("examiner", models.CharField(max_length=80)),
                ("number", models.PositiveIntegerField()),
                ("key", models.CharField(max_length=64)),
                ("event", models.TextField()),
                ("device", models.CharField(max_length=64)),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
                (
                    "exam",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="events", to="exams.exam"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("exam", "candidate", "station", "examiner", "number"),
                        name="exams_event_number",
                    ),
                    models.UniqueConstraint(fields=("exam", "key"), name="exams_event_key"),
                ],
            },
        ),
    ]
