"""A hand that points at a drawn leg on the page on which pictures are measured."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.web.drawn_leg import SIZE, drawn_leg


def choose_leg(page: Page, *, view: str = "bent_knee", side: str = "right") -> None:
    """Choose the drawn leg as the picture, and wait until it can be pointed at."""
    page.check(f"[name=side][value={side}]")
    page.check(f"[name=view][value={view}]")
    page.set_input_files("#file", {"name": "leg.jpg", "mimeType": "image/jpeg", "buffer": drawn_leg()})
    page.get_by_role("button", name="Point at its landmarks").click()
    page.wait_for_selector("html[data-ready] #stage img")


def on_leg(page: Page, at: tuple[float, float]) -> tuple[float, float]:
    """Return where on the screen a pixel of the drawn leg lies, the picture being brought into view."""
    picture = page.locator("#stage img")
    picture.scroll_into_view_if_needed()
    box = picture.bounding_box()
    if box is None:
        raise AssertionError("the picture is not shown")
    return box["x"] + at[0] * box["width"] / SIZE[0], box["y"] + at[1] * box["height"] / SIZE[1]
