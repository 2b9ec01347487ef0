"""The hospital's sign-on in WebKit, the engine of most tablets: what waits goes, under the same name."""

from __future__ import annotations

import pytest

from tests.browser.clinics import PASSWORD
from tests.browser.test_sign_on import provider, ward  # noqa: F401  fixtures
from tests.browser.test_webkit import Hands, hands, pytestmark, screen  # noqa: F401  fixtures and mark
from tests.browser.ward import Ward
from tests.web.provider import Provider

DEVICE = "body[data-author=ann]"


@pytest.mark.usefixtures("provider")
def test_what_waits_on_a_tablet_goes_when_its_author_has_signed_on(
    ward: Ward,  # noqa: F811
    hands: Hands,  # noqa: F811
) -> None:
    """Logged in by a password, cut off, logged out; back by the sign-on what was touched goes, once."""
    ward.wire.mend()
    hands.go("/login/?next=/visits/1/examine/")
    hands.type("[name=name]", "ann")
    hands.type("[name=password]", PASSWORD)
    hands.touch("form.sheet button")
    hands.ready()
    named = hands.told("document.body.dataset.device")
    kept = len(ward.ids(1))
    ward.wire.cut()
    hands.at_hand()
    hands.until(lambda: hands.read("#kept").startswith("No connection"))
    ward.wire.mend()
    hands.until(lambda: hands.read("#kept") == "Saved")
    assert len(ward.ids(1)) > kept
    ward.wire.cut()
    hands.at_hand()
    hands.until(lambda: hands.read("#kept").startswith("No connection"))
    before = len(ward.ids(1))
    hands.forget("fabella_session")
    ward.wire.mend()
    hands.until(lambda: hands.read("#kept") not in {"Saved", ""})
    hands.go("/visits/1/examine/")
    hands.touch("a.button.main")  # which the line that tells what waits does not move when it comes
    hands.until(lambda: hands.holds("[name=person]"))
    hands.type("[name=person]", "staff-4711")
    hands.touch("button")
    hands.until(lambda: hands.holds(DEVICE))
    assert hands.address == f"{ward.origin}/visits/1/examine/"
    assert hands.told("document.body.dataset.device") == named
    hands.until(lambda: len(ward.ids(1)) > before)
    assert len(ward.ids(1)) == len(set(ward.ids(1)))
    assert {author for _, author in ward.entries(1)} == {"ann"}


def test_a_link_on_another_site_leads_in_without_another_log_in(
    ward: Ward,  # noqa: F811
    provider: Provider,  # noqa: F811
    hands: Hands,  # noqa: F811
) -> None:
    """Whoever is logged in on a tablet stays so when a page of the hospital's own leads here."""
    ward.wire.mend()
    hands.go("/login/?next=/help/")
    hands.type("[name=name]", "ann")
    hands.type("[name=password]", PASSWORD)
    hands.touch("form.sheet button")
    hands.until(lambda: hands.holds(DEVICE))
    named = hands.told("document.body.dataset.device")
    provider.answers["/portal"] = (
        200,
        f'<title>Hospital</title><a id="knee" href="{ward.origin}/patients/">Knee</a>',
    )
    hands.told(f"location.assign('{provider.issuer}/portal')")
    hands.until(lambda: hands.holds("#knee"))
    hands.touch("#knee")
    hands.until(lambda: hands.holds(DEVICE))
    assert hands.address == f"{ward.origin}/patients/"
    assert hands.told("document.body.dataset.device") == named
