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
_MARK = b"\xef\xbb\xbf"
"""Of UTF-8. Without it spreadsheets take a table's letters for those of an older code, and spoil names."""


def sent_file(content: bytes | str, name: str, *, inline: bool = False) -> HttpResponse:
    """Return a file to be saved, or to be shown ``inline``; its kind is told by the end of its name."""
    answer = HttpResponse(_as_saved(content, name), content_type=_KINDS[name.rpartition(".")[2]])
    safe = "".join(each if (each.isalnum() and each.isascii()) or each in "-." else "-" for each in name)
    answer.headers["Content-Disposition"] = f'{"inline" if inline else "attachment"}; filename="{safe}"'
    return answer


def archive_of(files: Iterable[tuple[str, bytes | str]]) -> bytes:
    """Return named files as one archive; the same files give the same bytes."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as archive:
        for name, content in files:
            archive.writestr(zipfile.ZipInfo(name), _as_saved(content, name))
    return packed.getvalue()


def _as_saved(content: bytes | str, name: str) -> bytes:
    """Return the bytes of a file, a table with the mark by which spreadsheets know its letters."""
    saved = content.encode() if isinstance(content, str) else content
    return _MARK + saved if name.endswith(".csv") and not saved.startswith(_MARK) else saved
