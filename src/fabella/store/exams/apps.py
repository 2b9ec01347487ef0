"""Exams as an app of the framework."""

from django.apps import AppConfig


class ExamsConfig(AppConfig):
    """Exams, without a patient in them."""

    name = "fabella.store.exams"
    label = "exams"
    default_auto_field = "django.db.models.BigAutoField"
