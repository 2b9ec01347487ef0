"""A drawn leg whose angle is known is measured: by mouse, by finger, by keyboard, without a script."""

import re

from playwright.sync_api import Browser, Page, expect

from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage
from tests.browser.hand import new_visit
from tests.browser.pointing import choose_leg, on_leg
from tests.web.drawn_leg import FLEXION_DEG, HIP, KNEE, POINTS, SIZE, drawn_leg

WITHIN_DEG = 1.0
"""A pixel on a limb of 380 is some 0.15 degrees; on a phone one of the screen is three of the picture."""


def value_of(page: Page) -> float:
    """The value on the page, and that its error is told beside it."""
    told = page.locator(".measured-value.first")
    expect(told).to_contain_text("±")
    found = re.match(r"(\d+)°", told.inner_text())
    assert found
    return float(found[1])


def test_from_the_sign_to_the_entry_with_the_mouse(clinic: Clinic, page: Page) -> None:
    """The keypad of a sign leads there; a point is dragged, and the value that is kept is on the sheet."""
    visit = new_visit(clinic, page, number="PIC-1")
    page.fill("#find-sign", "passive flexion")
    page.press("#find-sign", "Enter")
    page.locator("#sign-passive_flexion .cell[data-side=left]").click()
    page.get_by_role("link", name="Measure on a picture").click()
    page.wait_for_selector("#choosing")
    expect(page.locator("[name=side][value=left]")).to_be_checked()
    expect(page.locator("[name=view]")).to_have_count(1)
    choose_leg(page, side="left")
    expect(page.locator(".landmarks .next")).to_contain_text("greater trochanter")
    for at in (HIP, KNEE, (300, 600)):  # the last one wrong
        page.mouse.click(*on_leg(page, at))
    expect(page.locator(".measured-value.first")).to_be_visible()
    assert abs(value_of(page) - FLEXION_DEG) > 10
    page.mouse.move(*on_leg(page, (300, 600)))
    page.mouse.down()
    page.mouse.move(*on_leg(page, POINTS["malleolus"]), steps=4)
    expect(page.locator(".loupe")).to_be_visible()
    page.mouse.up()
    expect(page.locator(".loupe")).to_be_hidden()
    expect(page.locator(".measured-value.first")).to_contain_text("110°")
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url("**/pictures/#picture-1")
    drawing = page.locator(".kept-picture img")
    expect(drawing).to_have_attribute("alt", re.compile("left limb 110°"))
    assert drawing.evaluate("image => image.complete && image.naturalWidth > 0")
    page.goto(clinic.address("visit", visit_id=visit))
    expect(page.locator("#now tr", has_text="Passive flexion").locator("td.left")).to_contain_text("110°")


def test_with_a_finger_on_a_phone(clinic: Clinic, browser: Browser) -> None:
    """Three touches, the last one moved under the loupe before it is lifted; nothing scrolls meanwhile."""
    device = browser.new_context(
        base_url=clinic.origin, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
    )
    page = device.new_page()
    page.goto(clinic.address("measure", visit_id=clinic.visit("open")))
    choose_leg(page)
    for at in (HIP, KNEE):
        page.touchscreen.tap(*on_leg(page, at))
    finger = device.new_cdp_session(page)

    def touch(kind: str, *at: tuple[float, float]) -> None:
        points = [{"x": x, "y": y} for x, y in at]
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    (x, y), before = on_leg(page, POINTS["malleolus"]), page.evaluate("scrollY")
    touch("touchStart", (x + 40, y - 60))
    touch("touchMove", (x + 20, y - 30))
    touch("touchMove", (x, y))
    expect(page.locator(".loupe")).to_be_visible()
    touch("touchEnd")
    expect(page.locator(".loupe")).to_be_hidden()
    assert page.evaluate("scrollY") == before
    expect(page.locator(".measured-value.first")).to_be_visible()
    assert abs(value_of(page) - FLEXION_DEG) <= WITHIN_DEG
    device.close()


def test_by_the_keyboard_alone(clinic: Clinic, page: Page) -> None:
    """Each landmark begins in the middle of the picture, and the arrows carry it, by one pixel or ten."""
    page.goto(clinic.address("measure", visit_id=clinic.visit("open")))
    choose_leg(page)
    for name, (x, y) in POINTS.items():
        page.locator(f"[data-landmark={name}] button").press("Enter")
        across, down = round(x - SIZE[0] / 2), round(y - SIZE[1] / 2)
        for pixels, less, more in ((across, "ArrowLeft", "ArrowRight"), (down, "ArrowUp", "ArrowDown")):
            key = less if pixels < 0 else more
            for _ in range(abs(pixels) // 10):
                page.keyboard.press(f"Shift+{key}")
            for _ in range(abs(pixels) % 10):
                page.keyboard.press(key)
    expect(page.locator(".measured-value.first")).to_contain_text("110°")
    assert value_of(page) == FLEXION_DEG
    page.get_by_role("button", name="Keep it").press("Enter")
    page.wait_for_url("**/pictures/#picture-*")


def test_without_a_script_the_picture_is_pressed(clinic: Clinic, plain: Page) -> None:
    """The picture is a button that tells the server where it was pressed; a landmark can be set again."""
    plain.goto(clinic.address("measure", visit_id=clinic.visit("open")))
    plain.check("[name=side][value=right]")
    plain.check("[name=view][value=bent_knee]")
    plain.set_input_files("#file", {"name": "leg.png", "mimeType": "image/png", "buffer": drawn_leg("PNG")})
    plain.get_by_role("button", name="Point at its landmarks").click()

    def press(at: tuple[float, float]) -> None:
        plain.locator("[name=at]").click(position={"x": at[0], "y": at[1]})

    for at in (HIP, KNEE, (300, 600)):
        press(at)
    assert abs(value_of(plain) - FLEXION_DEG) > 10
    plain.get_by_role("button", name="Move lateral malleolus").click()
    press(POINTS["malleolus"])
    assert abs(value_of(plain) - FLEXION_DEG) <= WITHIN_DEG
    plain.get_by_role("button", name="Keep it").click()
    expect(plain.locator(".kept-picture").last).to_contain_text("110°")


def test_what_cannot_be_a_limb_is_told_and_not_kept(clinic: Clinic, open_page: OpenPage) -> None:
    """Points on one spot give a sentence instead of a value, and there is nothing to keep."""
    page = open_page(width=390, height=844)
    page.goto(clinic.address("measure", visit_id=clinic.visit("open")))
    choose_leg(page)
    for at in (HIP, (HIP[0] + 30, HIP[1]), POINTS["malleolus"]):
        page.mouse.click(*on_leg(page, at))
    expect(page.locator("#reading .problems")).to_be_visible()
    expect(page.get_by_role("button", name="Keep it")).to_have_count(0)
