import re
from html.parser import HTMLParser

import pytest
from django.test import Client

from fabella.web.headers import HEADERS, POLICY
from fabella.web.templating import STATIC
from tests.web.walking import OPEN_VISIT, Route, routes

EITHER = (*routes(), *routes(visit_id=OPEN_VISIT))
READABLE = {route.address: route for route in EITHER if not route.sends_only}
KEPT_FOR_GOOD = {"api_signs"}
"""What holds nothing of anybody and has another address whenever it changes."""


class Inline(HTMLParser):
    """Collects what the content policy would not let run or load."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.ids: list[str] = []
        self._in_script = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note inline styles, handlers and scripts, and anything from elsewhere."""
        given = dict(attrs)
        self.found += [f"<{tag} {name}>" for name in given if name == "style" or name.startswith("on")]
        for name in ("src", "href", "action", "formaction", "data", "poster", "srcset"):
            value = given.get(name) or ""
            if value.startswith(("//", "javascript:")) or re.match(r"[a-z]+:" + "//", value):
                self.found.append(f"<{tag} {name}={value}>")
        is_data = given.get("type") == "application/json"  # no browser runs it
        if tag == "style" or (tag == "script" and not given.get("src") and not is_data):
            self.found.append(f"<{tag}>")
        if given.get("id"):
            self.ids.append(str(given["id"]))


@pytest.mark.parametrize("route", READABLE.values(), ids=lambda route: route.address)
def test_no_page_needs_what_its_policy_forbids(route: Route, demo: Client) -> None:
    """No page has inline script or style, or asks anything of another machine; no id stands twice."""
    answer = demo.get(route.address)
    for name, value in HEADERS.items():
        if name != "Cache-Control" or route.name not in KEPT_FOR_GOOD:
            assert answer.headers[name] == value
    if "html" in answer.headers["Content-Type"]:
        inline = Inline()
        inline.feed(answer.content.decode())
        assert inline.found == []
        assert sorted(set(inline.ids)) == sorted(inline.ids)


def test_the_policy_allows_nothing_inline_and_nothing_from_elsewhere() -> None:
    """By default nothing loads; what loads comes from here; nothing inline, evaluated or framed."""
    rules = dict(rule.split(" ", 1) for rule in POLICY.split("; "))
    assert rules["default-src"] == rules["base-uri"] == rules["frame-ancestors"] == "'none'"
    assert rules["script-src"] == rules["style-src"] == rules["connect-src"] == "'self'"
    assert "unsafe" not in POLICY


@pytest.mark.parametrize("path", sorted(STATIC.iterdir()), ids=lambda path: path.name)
def test_no_static_file_loads_from_elsewhere(path: object) -> None:
    """Styles and scripts name no other machine; a drawing may name its format."""
    text = path.read_text("utf-8").replace("http:" + "//www.w3.org/2000/svg", "")  # type: ignore[attr-defined]
    assert ":" + "//" not in text
    assert "@import" not in text


def test_colours_are_named_once() -> None:
    """Outside the palette a colour stands only where the plate's own tones are given the room's."""
    base = (STATIC / "base.css").read_text("utf-8")
    palette_ends = base.index("*, *::before")
    colour = re.compile(r"#[0-9a-f]{3,8}\b")
    printed = base[base.index("@media print") :]
    assert not colour.findall(base[palette_ends:].replace(printed, ""))
    parts = (STATIC / "parts.css").read_text("utf-8").splitlines()
    assert [line for line in parts if colour.search(line) and ".plate [" not in line] == []


def _contrast(one: str, other: str) -> float:
    """Contrast of two colours by the formula of WCAG 2.2 (relative luminance, success criterion 1.4.3)."""

    def luminance(colour: str) -> float:
        parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
        red, green, blue = (
            part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
        )
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula() -> None:
    """Black on white is 21 to 1, and #767676 on white just passes at 4.54 (the standard's own examples)."""
    assert _contrast("#000000", "#ffffff") == pytest.approx(21)
    assert _contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("block", [0, 1, 2], ids=["light", "dark by the machine", "dark by hand"])
def test_text_can_be_read_in_either_room(block: int) -> None:
    """Text has 4.5 to 1 on every ground it stands on, outlines 3 to 1 (WCAG 2.2, 1.4.3 and 1.4.11)."""
    base = (STATIC / "base.css").read_text("utf-8")
    blocks = re.findall(r":root[^{]*\{([^}]*)\}", base)
    tone = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", blocks[block]))
    for ground in ("paper", "sheet", "deep", "wash"):
        for text in ("ink", "soft", "accent"):
            assert _contrast(tone[text], tone[ground]) >= 4.5, (text, ground)
    for ground in ("paper", "sheet"):
        assert _contrast(tone["edge"], tone[ground]) >= 3, ground
    assert _contrast(tone["on-accent"], tone["accent"]) >= 4.5


@pytest.mark.parametrize("block", [0, 1, 2], ids=["light", "dark by the machine", "dark by hand"])
def test_every_line_of_a_drawing_is_seen_in_either_room(block: int) -> None:
    """Lines and marks have 3 to 1 on all that they are drawn on (WCAG 2.2, 1.4.11)."""
    base = (STATIC / "base.css").read_text("utf-8")
    tone = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", re.findall(r":root[^{]*\{([^}]*)\}", base)[block]))
    for ground in ("paper", "sheet", "deep", "skin", "bone", "cartilage", "tendon"):
        for line in ("ink", "shade", "accent"):
            assert _contrast(tone[line], tone[ground]) >= 3, (line, ground)
