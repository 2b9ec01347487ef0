from tests.browser.chromium import THEMES
from tests.browser.make_screens import FOLDER, SCREENS, listing, name_of
from tests.browser.sights import sights

MOST_BYTES_A_SIGHT = 80_000
HOW = "make screens"


def test_every_page_has_its_pictures() -> None:
    """The pictures in the documentation are those of every page in every state, and of nothing else."""
    wanted = {name_of(sight, screen, theme) for sight in sights() for screen in SCREENS for theme in THEMES}
    assert {path.name for path in FOLDER.glob("*.webp")} == wanted, HOW
    assert (FOLDER / "README.md").read_text("utf-8") == listing(sights()), HOW


def test_the_pictures_are_small() -> None:
    """All pictures together are at most 80 kB for each sight, which is shown six times."""
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) <= MOST_BYTES_A_SIGHT * len(sights())
