"""The accounts as an app of the framework."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Who may enter."""

    name = "fabella.store.accounts"
    label = "accounts"
    default_auto_field = "django.db.models.BigAutoField"
