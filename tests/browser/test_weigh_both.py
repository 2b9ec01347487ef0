"""What an earlier visit told stands beside the examination while the patient is there."""

from __future__ import annotations

import re
from contextlib import closing
from urllib.parse import urlencode

from playwright.sync_api import Page, expect

from tests.browser.chromium import Watch
from tests.browser.clinics import Clinic
from tests.browser.hand import open_examination
from tests.web.hands import Browser

TORN: tuple[dict[str, object], ...] = (
    {"sign": "lachman", "side": "right", "state": "abnormal", "level": "3+"},
    {"sign": "lachman_end_point", "side": "right", "state": "abnormal"},
    {"sign": "effusion", "side": "right", "state": "abnormal"},
)
FORM = "application/x-www-form-urlencoded"


def begun(hands: Browser, patient: str, day: str) -> str:
    """Begin a visit of a day, and return its address."""
    return hands.form(
        patient, urlencode({"complaint": "right", "setting": "sports_clinic", "day": day})
    ).removesuffix("examine/")


def find(hands: Browser, visit: str, base: int, *findings: dict[str, object]) -> None:
    """Enter findings."""
    where = f"/api{visit.rstrip('/')}"
    operations = (
        {
            "id": f"found-at{visit.replace('/', '-')}{base:03}-{number}",
            "base": base,
            "change": "set_finding",
            "finding": each,
        }
        for number, each in enumerate(findings)
    )
    answer = hands.save(where, *operations)
    assert [each["problems"] for each in answer["results"]] == [[]] * len(findings)


def sign(hands: Browser, visit: str) -> None:
    """Sign a visit as its page shows it."""
    page = hands.ask("GET", f"{visit}sign/")[2].decode()
    fields = re.findall(r'<input type="hidden" name="(version|earlier|patient|today)" value="([^"]*)"', page)
    assert hands.form(f"{visit}sign/", urlencode(dict(fields)))


def test_it_stands_beside_the_examination_and_in_the_line_at_hand(
    clinic: Clinic, page: Page, watch: Watch
) -> None:
    """After the live answer, kept without a connection, gone with what is hidden, and when told again."""
    watch.forgive("ERR_INTERNET_DISCONNECTED")
    with closing(Browser(clinic.server.port)) as hands:
        _see(hands, clinic, page)


def _see(hands: Browser, clinic: Clinic, page: Page) -> None:
    patient = hands.form("/patients/new/", "number=W-1&label=Nora+Kettle&birth_date=2000-01-01&sex=female")
    then = begun(hands, patient, "2025-10-01")
    find(hands, then, 2, *TORN)
    sign(hands, then)
    now = begun(hands, patient, "2025-11-20")
    find(hands, now, 2, {"sign": "effusion", "side": "right", "state": "normal"})
    page.set_viewport_size({"width": 390, "height": 844})
    open_examination(clinic, page, int(now.strip("/").split("/")[-1]))
    gist, part = page.locator("#gist"), page.locator("#comes-part")
    expect(gist).to_contain_text("Weigh an earlier visit.")
    gist.click()
    expect(part).to_contain_text("Not yet looked at: Lachman test and Lachman end point.")
    page.context.set_offline(True)
    page.locator("#hide").click()  # nothing new can be asked for
    page.locator("#hide").click()
    expect(part).to_contain_text("Weigh both visits")
    page.context.set_offline(False)
    page.locator("#hide").click()
    expect(part).not_to_contain_text("Weigh both visits")
    expect(gist).not_to_contain_text("Weigh an earlier visit.")
    page.locator("#hide").click()
    expect(gist).to_contain_text("Weigh an earlier visit.")
    find(hands, now, 3, *TORN[:2])
    expect(gist).not_to_contain_text("Weigh an earlier visit.", timeout=20_000)
