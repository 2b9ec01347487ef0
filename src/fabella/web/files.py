"""Files that a page sends under a name."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable

from django.http import HttpResponse

_KINDS = {
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "pdf": "application/pdf",
    "txt": "text/plain; charset=utf-8",
    "zip": "application/zip",
}


def sent_file(content: bytes | str, name: str, *, inline: bool = False) -> HttpResponse:
    """Return a file to be saved, or to be shown ``inline``; its kind is told by the end of its name."""
    answer = HttpResponse(content, content_type=_KINDS[name.rpartition(".")[2]])
    safe = "".join(each if (each.isalnum() and each.isascii()) or each in "-." else "-" for each in name)
    answer.headers["Content-Disposition"] = f'{"inline" if inline else "attachment"}; filename="{safe}"'
    return answer


def archive_of(files: Iterable[tuple[str, bytes | str]]) -> bytes:
    """Return named files as one archive; the same files give the same bytes."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as archive:
        for name, content in files:
            archive.writestr(zipfile.ZipInfo(name), content)
    return packed.getvalue()
