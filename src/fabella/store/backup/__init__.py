"""Backups: taken while the server runs, checked when they are made, checked again before they are used."""

from fabella.store.backup.manifest import Manifest

__all__ = ["Manifest"]
