"""A clinic at its pages: patients added, visits begun, examinations brought and signed, and pages read."""

from __future__ import annotations

import re
from html import unescape
from io import BytesIO
from pathlib import Path
from typing import Any

from django.test import Client

from fabella.store.clinic.models import Visit

ROOT = Path(__file__).parents[2]
HANDBALL = ROOT / "examples" / "twist_at_handball.json"


def text_of(answer: Any) -> str:
    """The words of a page, without its tags and with single spaces."""
    assert answer.status_code == 200, answer.status_code
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def as_read(answer: Any) -> str:
    """A page as it is read, tags and all, with single spaces."""
    return " ".join(unescape(answer.content.decode()).split())


def add(client: Client, **details: str) -> str:
    """Add a patient and return the address of their page."""
    typed = {"number": "K-1", "label": "Ida Invented", "birth_date": "1990-03-01", "sex": "female", **details}
    answer = client.post("/patients/new/", typed)
    assert answer.status_code == 302
    return str(answer.headers["Location"])


def begin(client: Client, patient: str) -> str:
    """Begin a visit and return the address of its page."""
    answer = client.post(patient, {"complaint": "right", "setting": "emergency", "day": ""})
    assert answer.status_code == 302
    return str(answer.headers["Location"]).removesuffix("examine/")


def bring(client: Client, visit: str, path: Path = HANDBALL, base: str = "2") -> Any:
    """Bring an examination file into a visit."""
    upload = BytesIO(path.read_bytes())
    upload.name = path.name
    return client.post(f"{visit}bring/", {"base": base, "file": upload})


def sign(client: Client, visit: str) -> Any:
    """Sign a visit as it stands."""
    version = str(Visit.objects.get().version)
    return client.post(f"{visit}sign/", {"version": version, "addressee": "Dr Made Up"})
