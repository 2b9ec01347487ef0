"""Images under a finger: stated, corrected, taken back, with a connection and without one."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from fabella.report.wording import short_date
from tests.browser.chromium import Theme, Watch, new_device
from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage
from tests.browser.hand import Hand, examination_of, new_visit, open_examination
from tests.browser.seeing import violations
from tests.browser.ward import Ward, running_ward, until

FOUND_LATER = "An image taken after the examination belongs under what was found later."


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    """A clinic at the end of a wire, where nobody needs an account."""
    with running_ward(tmp_path_factory.mktemp("ward")) as running:
        yield running


def images(page: Page) -> Locator:
    """Open the part with the images, unless it is."""
    part = page.locator("#position-images")
    if part.locator(".position-name").get_attribute("aria-expanded") == "false":
        part.locator(".position-name").click()
    return part


def kind(page: Page, name: str, *, side: str = "right") -> Locator:
    """Open what is asked of one kind of image, and return it."""
    knee = images(page).get_by_role("group", name=f"Images of the {side} knee", exact=True)
    knee.get_by_role("button", name=re.compile(f"^{name}(, .*|: .*)?$")).click()
    return knee.get_by_role("group", name=f"{side.capitalize()} knee, {name}", exact=False).first


def said(page: Page) -> Locator:
    """The lines that tell what is recorded."""
    return page.locator("#position-images .summary")


def kept(clinic: Clinic, visit: int) -> list[dict[str, Any]]:
    """Return the images as the server holds them."""
    found: list[dict[str, Any]] = examination_of(clinic, visit).get("imaging", [])
    return found


def test_an_image_is_stated_corrected_and_taken_back(clinic: Clinic, page: Page) -> None:
    """Each answer is on the record at once and in a line above, and what cannot wait is told of it."""
    visit = new_visit(clinic, page, number="I-1")
    day = str(examination_of(clinic, visit)["examined_on"])
    taken = f"plain radiographs, {short_date(date.fromisoformat(day))}"
    film = kind(page, "Plain radiographs")
    expect(film.get_by_label("Taken on which day?")).to_be_hidden()  # nothing is stated yet
    film.get_by_role("button", name="not read yet").click()
    expect(said(page)).to_have_text("Right: plain radiographs: not read yet")
    film.get_by_role("button", name="shows …").click()
    expect(film.get_by_label("anterior cruciate ligament tear")).to_have_count(0)  # no film shows one
    film.get_by_label("tibial plateau or proximal tibial fracture").check()
    film.get_by_label("Taken on which day?").fill(day)
    film.get_by_label("Words of the report").fill("Depressed lateral plateau.")
    film.get_by_label("Words of the report").blur()
    line = f"Right: {taken}: tibial plateau or proximal tibial fracture"
    expect(said(page)).to_have_text(line)
    stated = {"image": "radiograph", "side": "right", "on": day}
    until(page, lambda: bool(kept(clinic, visit)) and "words" in kept(clinic, visit)[0])
    assert kept(clinic, visit) == [
        {**stated, "shows": ["tibial_plateau_fracture"], "words": "Depressed lateral plateau."}
    ]
    expect(page.locator("#comes-part")).to_contain_text("an image shows a fracture")
    open_examination(clinic, page, visit)  # and again from what the server keeps
    expect(said(page)).to_have_text(line)
    film = kind(page, "Plain radiographs")
    film.get_by_label("tibial plateau or proximal tibial fracture").uncheck()
    expect(said(page)).to_have_text(f"Right: {taken}: not read yet")
    film.get_by_role("button", name="nothing abnormal seen").click()
    expect(said(page)).to_have_text(f"Right: {taken}: nothing abnormal seen")
    film.get_by_role("button", name="Take it back").click()
    expect(said(page)).to_be_hidden()
    until(page, lambda: kept(clinic, visit) == [])
    Hand(page).touch("#undo")
    until(page, lambda: [each["shows"] for each in kept(clinic, visit)] == [[]])
    expect(film.get_by_label("Words of the report")).to_have_value("Depressed lateral plateau.")


def test_an_image_of_limited_value_is_ticked_as_such(clinic: Clinic, page: Page) -> None:
    """Only one that was read can be; it is told apart, and a day that nobody gave is asked for."""
    visit = new_visit(clinic, page, number="I-9")
    film = kind(page, "Plain radiographs")
    poor = film.get_by_label("Of limited value", exact=False)
    film.get_by_role("button", name="not read yet").click()
    expect(poor).to_be_hidden()
    undated = film.get_by_text("Without a day it counts as one of this complaint")
    expect(undated).to_be_visible()
    film.get_by_role("button", name="nothing abnormal seen").click()
    poor.check()
    line = "Right: plain radiographs: nothing abnormal seen, of limited value"
    expect(said(page)).to_have_text(line)
    until(page, lambda: [each.get("limited") for each in kept(clinic, visit)] == [True])
    expect(page.locator("#comes-part")).to_contain_text("it rules nothing out, and is not weighed")
    open_examination(clinic, page, visit)  # and again from what the server keeps
    expect(said(page)).to_have_text(line)
    film = kind(page, "Plain radiographs")
    film.get_by_label("Taken on which day?").fill("2020-01-01")
    expect(film.get_by_text("Without a day it counts as one of this complaint")).to_be_hidden()
    film.get_by_label("Of limited value", exact=False).uncheck()
    until(page, lambda: "limited" not in kept(clinic, visit)[0])


def test_an_image_of_after_the_examination_is_not_entered(clinic: Clinic, page: Page) -> None:
    """Its day is refused where it is typed, with where it belongs; what stood there stands."""
    visit = new_visit(clinic, page, number="I-2")
    scan = kind(page, "MRI")
    scan.get_by_role("button", name="nothing abnormal seen").click()
    scan.get_by_label("Taken on which day?").fill("2199-01-01")
    expect(scan.get_by_role("alert")).to_have_text(FOUND_LATER)
    page.wait_for_selector("#kept:text-is('Saved')")
    assert kept(clinic, visit) == [{"image": "mri", "side": "right", "shows": []}]
    scan.get_by_label("Taken on which day?").fill("2020-01-01")
    expect(scan.get_by_role("alert")).to_be_hidden()


def test_the_other_knee_is_there_on_demand(clinic: Clinic, page: Page) -> None:
    """Only the knee that is complained of is asked about, until somebody wants the other."""
    visit = new_visit(clinic, page, number="I-3")
    left = images(page).get_by_role("group", name="Images of the left knee", exact=True)
    expect(left).to_be_hidden()
    page.get_by_role("button", name="Images of the left knee too").click()
    expect(left).to_be_visible()
    kind(page, "Ultrasound", side="left").get_by_role("button", name="not read yet").click()
    page.wait_for_selector("#kept:text-is('Saved')")
    open_examination(clinic, page, visit)
    images(page)
    expect(left).to_be_visible()  # an image of it is there
    expect(said(page)).to_have_text("Left: ultrasound: not read yet")


def test_images_are_not_in_the_way_of_the_hands(clinic: Clinic, page: Page) -> None:
    """No touch of the button at hand is spent on them, and they close as the examination moves on."""
    new_visit(clinic, page, number="I-4")
    hand = Hand(page)
    hand.at_hand("Consent")
    images(page)
    hand.at_hand("Asked")
    hand.at_hand("Looked at: normal, both sides")
    expect(page.locator("#in-images")).to_be_hidden()


def test_an_image_by_keyboard_alone(clinic: Clinic, page: Page) -> None:
    """It opens, is answered and closes without a pointer, and the focus comes back."""
    visit = new_visit(clinic, page, number="I-5")
    keys = page.keyboard
    page.locator("#position-images .position-name").focus()
    keys.press("Enter")
    keys.press("Tab")  # plain radiographs
    keys.press("Tab")
    keys.press("Enter")
    for _ in range(7):  # past the other kinds, to the first answer
        keys.press("Tab")
    keys.press("Enter")
    expect(said(page)).to_have_text("Right: MRI: not read yet")
    keys.press("Escape")
    expect(page.get_by_role("button", name="MRI: not read yet")).to_be_focused()
    expect(page.locator("#image-right-mri")).to_be_hidden()
    until(page, lambda: kept(clinic, visit) == [{"image": "mri", "side": "right"}])


def test_an_image_stated_without_a_connection_arrives(ward: Ward, browser: Browser) -> None:
    """It waits on the device, survives a page loaded again, can be corrected there, and is sent in order."""
    visit = ward.new_visit()
    with closing(new_device(browser, ward.origin)) as device:
        page = device.new_page()
        page.goto(f"/visits/{visit}/examine/")
        page.wait_for_selector("html[data-ready]")
        ward.wire.cut()
        scan = kind(page, "MRI")
        scan.get_by_role("button", name="shows …").click()
        scan.get_by_label("medial meniscus tear").check()
        until(page, lambda: page.locator("#kept").inner_text().startswith("No connection: 1"))
        scan.get_by_role("button", name="nothing abnormal seen").click()
        expect(said(page)).to_have_text("Right: MRI: nothing abnormal seen")
        until(page, lambda: page.locator("#kept").inner_text().startswith("No connection: 2"))
        assert ward.ids(visit) == []
        ward.wire.mend()
        until(page, lambda: page.locator("#kept").inner_text() == "Saved", 60)
        assert len(ward.ids(visit)) == 2
        page.reload()
        page.wait_for_selector("html[data-ready]")
        expect(said(page)).to_have_text("Right: MRI: nothing abnormal seen")


def test_an_image_that_was_said_is_entered_once_confirmed(clinic: Clinic, page: Page) -> None:
    """It is proposed beside the findings of its knee, and stands among the images afterwards."""
    visit = new_visit(clinic, page, number="I-8")
    page.locator(".say summary").click()
    page.fill("#said", "Right knee moderate effusion. MRI right knee: ACL torn.")
    page.locator("#say button").click()
    proposed = page.locator(".proposed-side", has_text="Right knee").get_by_label("MRI")
    expect(proposed).to_be_checked()
    assert kept(clinic, visit) == []
    page.locator(".proposal button.main").click()
    expect(said(page)).to_have_text("Right: MRI: anterior cruciate ligament tear")
    until(page, lambda: [each["shows"] for each in kept(clinic, visit)] == [["acl_tear"]])


def test_what_two_devices_read_unseen_of_each_other_is_shown(
    clinic: Clinic, open_page: OpenPage, watch: Watch
) -> None:
    """Neither overwrites the other; both readings stand beside the examination, in words."""
    first, second = open_page(), open_page(width=390, height=844)
    visit = new_visit(clinic, first, number="I-6")
    open_examination(clinic, second, visit)
    answers = [kind(each, "CT") for each in (first, second)]
    watch.forgive("ERR_INTERNET_DISCONNECTED")
    second.context.set_offline(True)
    answers[0].get_by_role("button", name="nothing abnormal seen").click()
    until(first, lambda: bool(kept(clinic, visit)))
    answers[1].get_by_role("button", name="shows …").click()
    answers[1].get_by_label("patellar fracture").check()
    second.context.set_offline(False)
    dispute = first.locator("#comes-part .dispute")
    expect(dispute).to_contain_text("CT, right knee", timeout=15000)
    expect(dispute).to_contain_text("Nothing abnormal seen; day not stated.")
    expect(dispute).to_contain_text("Patellar fracture; day not stated.")


@pytest.mark.parametrize(("width", "height", "theme"), [(360, 740, "light"), (1280, 800, "dark")])
def test_whatever_opens_of_an_image_is_accessible(
    clinic: Clinic, open_page: OpenPage, width: int, height: int, theme: Theme
) -> None:
    """Its answers, ticks, day and words have no violation, on a phone and on a desk, and are large enough."""
    page = open_page(width=width, height=height, theme=theme)
    new_visit(clinic, page, number=f"I-7-{theme}")
    scan = kind(page, "MRI")
    scan.get_by_role("button", name="not read yet").click()
    scan.get_by_role("button", name="shows …").click()
    scan.get_by_label("medial meniscus tear").check()
    assert violations(page) == []
    controls = images(page).locator("button, .ticks label, .limited, input[type=date], textarea")
    for each in controls.locator("visible=true").all():
        box = each.bounding_box()
        assert box is not None
        assert box["height"] >= 44, each.inner_text()
        assert box["x"] + box["width"] <= width
