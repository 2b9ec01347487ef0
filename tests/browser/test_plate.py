"""Drawings can be read wherever they stand: in a narrow place one knee stands above the other."""

from itertools import combinations
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.clinics import Clinic

SMALLEST_PX = 10
_WORDS = """plate => {
  const frame = plate.getBoundingClientRect();
  return [...plate.querySelectorAll("text")].filter((text) => !text.closest(".drawn-key")).flatMap((text) => {
    const px = parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a;
    const lines = text.querySelector("tspan") ? [...text.querySelectorAll("tspan")] : [text];
    return lines.map((line) => {
      const first = line.getStartPositionOfChar(0);
      const last = line.getEndPositionOfChar(line.getNumberOfChars() - 1);
      const [from, to] = [first, last].map((point) => point.matrixTransform(line.getScreenCTM()));
      const bottom = from.y - frame.top;
      return { says: line.textContent, px, left: from.x - frame.left, right: to.x - frame.left,
               top: bottom - 0.62 * px, bottom, width: frame.width, height: frame.height };
    });
  });
}"""
"""Each line of words of a drawing, from the height of small letters to its baseline, a hidden key apart."""


def _lines(page: Page) -> list[dict[str, Any]]:
    plate = page.locator("svg.both-knees").first
    plate.wait_for(state="attached")
    found: list[dict[str, Any]] = plate.evaluate(_WORDS)
    return found


def _are_apart(lines: list[dict[str, Any]], *, smallest_px: float) -> None:
    """Fail where words are too small, leave the frame, or lie on others."""
    for line in lines:
        assert line["px"] >= smallest_px, line
        assert 0 <= line["left"] < line["right"] <= line["width"], line
        assert 0 <= line["top"] < line["bottom"] <= line["height"], line
    for one, other in combinations(lines, 2):
        across = min(one["right"], other["right"]) - max(one["left"], other["left"])
        down = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
        assert across <= 0 or down <= 0, (one["says"], other["says"])


@pytest.mark.parametrize("width", [360, 390, 600, 820, 1280])
@pytest.mark.parametrize(
    ("route", "state"), [("visit", "open"), ("visit", "signed"), ("sign", "open"), ("letter", "open")]
)
def test_labels_can_be_read_and_never_touch(
    page: Page, clinic: Clinic, route: str, state: str, width: int
) -> None:
    """From a phone of 360 px on, every label is at least 10 px high, in the frame, and on no other one."""
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(clinic.address(route, visit_id=clinic.visit(state)))
    lines = _lines(page)
    assert {"Right knee", "Left knee", "tender", "other knee"} <= {line["says"] for line in lines}
    _are_apart(lines, smallest_px=SMALLEST_PX)


@pytest.mark.parametrize(("width", "is_narrow"), [(390, True), (1280, False)])
def test_the_knees_stand_above_each_other_where_it_is_narrow(
    page: Page, clinic: Clinic, width: int, is_narrow: bool
) -> None:
    """The right knee is the upper one on a phone and the one on the left on a desk."""
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(clinic.address("visit", visit_id=clinic.visit("open")))
    right, left = (
        next(line for line in _lines(page) if line["says"] == f"{side} knee") for side in ("Right", "Left")
    )
    if is_narrow:
        assert right["bottom"] < left["top"]
        assert right["left"] == pytest.approx(left["left"], abs=0.1 * right["width"])
    else:
        assert right["right"] < left["left"]
        assert right["top"] == pytest.approx(left["top"], abs=1)


@pytest.mark.parametrize(("width", "smallest_px"), [(360, 10), (820, 11), (1280, 11), (1600, 11)])
def test_the_charts_of_a_course_can_be_read(
    page: Page, clinic: Clinic, width: int, smallest_px: float
) -> None:
    """Words of a chart are at least 10 px high on a phone and 11 elsewhere, in its frame, and none touch."""
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(clinic.address("course", patient_id=1))
    assert not page.locator(".course .drawn-key").first.is_visible()
    assert page.locator(".chart .key").first.is_visible()
    charts = page.locator("svg.course")
    assert charts.count() > 3
    for index in range(charts.count()):
        _are_apart(charts.nth(index).evaluate(_WORDS), smallest_px=smallest_px)


def test_the_view_from_the_side_comes_when_it_is_asked_for(page: Page, clinic: Clinic) -> None:
    """Nothing of it is fetched before; then each half of the drawing stands by itself, and one is read."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(clinic.address("visit", visit_id=clinic.visit("signed")))
    assert not [each for each in asked if each.endswith("side.svg")]
    page.get_by_text("Both knees from the side").click()
    halves = page.locator(".from-side svg")
    halves.nth(1).wait_for()
    assert halves.count() == 2
    assert [None, "true"] == [halves.nth(each).get_attribute("aria-hidden") for each in (0, 1)]
    assert 1 == len([each for each in asked if each.endswith("side.svg")])
