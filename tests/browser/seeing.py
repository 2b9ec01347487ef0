"""What a browser can tell of a page that is open: whether everybody can use it."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from playwright.sync_api import JSHandle, Page

_EVERYTHING = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_COLOURS = ["color-contrast", "link-in-text-block"]
_RUN = """async ([of, options]) => {
  const where = of ? { include: of.looks() } : document;
  const { violations } = await axe.run(where, { ...options, resultTypes: ["violations"], preload: false });
  return violations.flatMap(each => each.nodes.map(node =>
    `${each.id}: ${node.target.join(" ")}: ${node.failureSummary.replace(/\\s+/g, " ")}`));
}"""


@cache
def _engine() -> str:
    """The accessibility engine axe-core, as its package carries it."""
    return files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")


@cache
def _questions() -> str:
    return Path(__file__).with_suffix(".js").read_text("utf-8")


_UNFOLD = "n => [...document.querySelectorAll('details')].slice(0, n).forEach(each => { each.open = true; })"
_MOST_FOLDS = 6  # a page with more repeats itself


def unfold(page: Page) -> None:
    """Open what is folded on the page, from its top."""
    page.evaluate(_UNFOLD, _MOST_FOLDS)


def violations(page: Page, *, but_of_colours: bool = False) -> list[str]:
    """Return what the accessibility engine finds against the page as it is shown."""
    left_out = {rule: {"enabled": False} for rule in _COLOURS} if but_of_colours else {}
    return _run(page, {"runOnly": _EVERYTHING, "rules": left_out})


def faint(page: Page) -> list[str]:
    """Return what the engine finds against the colours of the page, at one text of each look it has.

    On the whole page they take the engine longer than everything else together.
    """
    return _run(page, {"runOnly": {"type": "rule", "values": _COLOURS}}, page.evaluate_handle(_questions()))


def _run(page: Page, options: dict[str, Any], looking: JSHandle | None = None) -> list[str]:
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(_engine())
    found: list[str] = page.evaluate(_RUN, [looking, options])
    return found


def too_wide(page: Page) -> list[str]:
    """Return what makes the page scroll sideways; nothing when it does not."""
    return list(page.evaluate_handle(_questions()).evaluate("it => it.tooWide()"))


def small_fields(page: Page) -> list[str]:
    """Return fields for which a phone would enlarge the page, being below 16 px."""
    return list(page.evaluate_handle(_questions()).evaluate("it => it.smallFields()"))


def strange_tones(page: Page) -> list[str]:
    """Return shapes of drawings whose colour is none of those of the room; nothing when there is none."""
    return list(page.evaluate_handle(_questions()).evaluate("it => it.strangeTones()"))


def walk_by_keyboard(page: Page) -> list[str]:
    """Press Tab from the top to the end; return what was never reached, not outlined or out of sight.

    Also whether the first stop is a link that leads past the masthead.
    """
    ask = page.evaluate_handle(_questions())
    names: list[str] = ask.evaluate("it => it.number()")
    ask.evaluate("it => it.follow()")
    steps: list[dict[str, Any]] | None = None
    for presses in (len(names) + 1, len(names) + 20):  # what it should take, and as much again
        for _ in range(presses):
            page.keyboard.down("Tab")  # held, it goes on: half the way to the browser and back
        if (steps := ask.evaluate("it => it.steps()")) is not None:
            break
    if steps is None:
        return ["the focus never leaves the page"]
    faults = [f"has the focus unseen: {at['told']}" for at in steps if not at["seen"]]
    faults += [f"has the focus out of sight: {at['told']}" for at in steps if not at["inView"]]
    page.keyboard.up("Tab")
    reached = {at["stop"] for at in steps}
    first = page.locator("[data-stop='0']").first
    leads = first.get_attribute("href") == "#content"  # a link elsewhere would end the page
    if leads:
        first.press("Enter")
    if not leads or page.evaluate("() => document.activeElement.id") != "content":
        faults.append(f"comes first, and does not lead to the content: {names[0]}")
    return faults + [f"not reached: {name}" for number, name in enumerate(names) if number not in reached]
