"""Pictures of every page: ``python -m tests.browser.make_screens`` puts them into ``docs/screens``.

Each sight of `tests.browser.sights` on a phone, a tablet and a desk, in a light and in a dark room. A page
longer than a screen and a half is cut there; ``--whole`` shows all of it, ``--format png`` keeps every point.
"""

from __future__ import annotations

import argparse
import sys
from base64 import b64decode
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from playwright.sync_api import Browser, Page

import tests.database  # noqa: F401  starts the framework, whose route table is read
from tests.browser.chromium import THEMES, Watch, chromium, new_device
from tests.browser.clinics import Clinic, running_clinic
from tests.browser.sights import GUARDED, INVENTED, SIGNING_ON, Sight, guarded, sights, signing_on

SCREENS = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1280, 800)}
FOLDER = Path(__file__).parents[2] / "docs" / "screens"

_MOST_SCREENS = 1.5
_QUALITY = 30  # of 100: letters stay sharp
_SCALES = {"phone": 0.65, "tablet": 0.5, "desk": 0.5}
_HEAD = """# Every page

Made by `make screens` from the route table and the invented clinic; do not edit. Each page stands here in
every state in which it looks different: on a phone, a tablet and a desk, in a light and in a dark room, made
smaller, and cut after a screen and a half.
"""


def name_of(sight: Sight, screen: str, theme: str, kind: str = "webp") -> str:
    """Return the name of a picture."""
    return f"{sight.name}-{screen}-{theme}.{kind}"


def take(page: Page, screen: str, *, kind: str, whole: bool) -> bytes:
    """Return a picture of the page as it is shown, from its top."""
    width, height = SCREENS[screen]
    full = int(page.evaluate("() => document.documentElement.scrollHeight"))
    shown = full if whole else min(full, round(_MOST_SCREENS * height))
    page.set_viewport_size({"width": width, "height": max(shown, height)})
    scale = 1 if kind == "png" else _SCALES[screen]
    wanted: dict[str, Any] = {
        "format": kind,
        "clip": {"x": 0, "y": 0, "width": width, "height": max(shown, height), "scale": scale},
    }
    if kind != "png":
        wanted["quality"] = _QUALITY
    wire = page.context.new_cdp_session(page)
    data = wire.send("Page.captureScreenshot", wanted)["data"]
    wire.detach()
    return b64decode(data)


def picture(
    browser: Browser, clinic: Clinic, sight: Sight, *, kind: str, whole: bool
) -> Iterator[tuple[str, bytes]]:
    """Yield every picture of a sight with its name."""
    with new_device(browser, clinic.origin) as device:
        watch = Watch()
        watch.attend(device, clinic.origin)
        sight.let_refuse(watch)
        page = device.new_page()
        sight.show(page, clinic)
        for screen, (width, height) in SCREENS.items():
            for theme in THEMES:
                page.emulate_media(color_scheme=theme)
                page.set_viewport_size({"width": width, "height": height})
                page.wait_for_load_state("networkidle")
                yield name_of(sight, screen, theme, kind), take(page, screen, kind=kind, whole=whole)
        watch.check()


def listing(seen: tuple[Sight, ...]) -> str:
    """Return a page that shows the pictures."""
    lines = [_HEAD]
    for sight in seen:
        lines.append(f"## {sight.name.replace('_', ' ')}\n")
        for theme in THEMES:
            shown = (
                f"![{sight.name} on a {screen}, {theme}]({name_of(sight, screen, theme)})"
                for screen in SCREENS
            )
            lines.append(" ".join(shown) + "\n")
    return "\n".join(lines)


def main() -> None:
    """Make them."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--out", type=Path, default=FOLDER)
    arguments.add_argument("--format", choices=["webp", "png"], default="webp")
    arguments.add_argument("--whole", action="store_true")
    arguments.add_argument("names", nargs="*", help="of sights; all without any")
    wanted = arguments.parse_args()
    out: Path = wanted.out
    out.mkdir(parents=True, exist_ok=True)
    every = sights()
    chosen = [sight for sight in every if not wanted.names or sight.name in wanted.names]
    if not wanted.names:
        for old in out.glob(f"*.{wanted.format}"):
            old.unlink()
    with ExitStack() as stack:
        folder = Path(stack.enter_context(TemporaryDirectory()))
        clinics = {
            INVENTED: stack.enter_context(running_clinic(folder / "invented", "--demo")),
            GUARDED: stack.enter_context(guarded(folder / "guarded")),
            SIGNING_ON: stack.enter_context(signing_on(folder / "signing-on")),
        }
        browser = stack.enter_context(chromium())
        for sight in chosen:
            clinic = clinics[sight.clinic]
            for name, data in picture(browser, clinic, sight, kind=wanted.format, whole=wanted.whole):
                (out / name).write_bytes(data)
    (out / "README.md").write_text(listing(every), "utf-8")
    size = sum(path.stat().st_size for path in out.iterdir())
    sys.stdout.write(
        f"{len(chosen)} pages, {len(chosen) * 6} pictures; the folder holds {size / 1e6:.1f} MB\n"
    )


if __name__ == "__main__":
    main()
