"""Files that are sent lie in memory; a radiograph may be larger than anything else."""

from __future__ import annotations

from typing import Any

from django.core.files.uploadhandler import MemoryFileUploadHandler
from django.http import HttpRequest

from fabella.picture import MOST_BYTES
from fabella.store import Role

PICTURES = "measure"
"""The name of the address that takes pictures."""

_ROUND_IT = 100_000  # bytes of a form besides its file


class InMemory(MemoryFileUploadHandler):
    """Takes a file into memory, never into a folder for passing things; one that is too large is left out."""

    def handle_raw_input(
        self,
        input_data: Any,
        META: dict[str, str],  # noqa: N803  the framework's name
        content_length: int,
        boundary: str,
        encoding: str | None = None,
    ) -> None:
        """Decide by its length whether a request's files are taken."""
        super().handle_raw_input(input_data, META, content_length, boundary, encoding)
        self.activated = self.activated or (
            content_length <= MOST_BYTES + _ROUND_IT and _takes_pictures(self.request)
        )


def _takes_pictures(request: HttpRequest | None) -> bool:
    match, actor = getattr(request, "resolver_match", None), getattr(request, "actor", None)
    return bool(match and match.url_name == PICTURES and actor and Role.CLINICIAN in actor.roles)
