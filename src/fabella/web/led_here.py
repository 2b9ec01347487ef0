"""Whom a page of another site led here comes as whoever they are: the last step is taken from a page of ours.

On such a way browsers keep back cookies that are `Strict`, and ours are. Without that step whoever is logged
in would see the log-in, and the browser would be given cookies in the place of those that it kept back. The
step goes to the same address and to no other, is taken once, and needs no script.
"""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.http import escape_leading_slashes

from fabella.web.pages.onwards import OnwardsPage
from fabella.web.passes import CLASS_PASS, DEVICE, EXAM_PASS
from fabella.web.templating import render

_LED = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
"""What a browser tells of a link on a page of another site (Fetch Metadata), through our worker too."""


class LedHere:
    """Stands before whatever looks at cookies, gives none, and does not say for whom the answer was made."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer a request."""
        # Back from the hospital's sign-on any browser is led on, also one that does not tell where it was.
        if not _was_led_here(request) or request.path == reverse("sign_on_back"):
            return self._get_response(request)
        # Two slashes at its beginning would name another server.
        return render(request, OnwardsPage(goes_on=escape_leading_slashes(request.get_full_path())))


def _was_led_here(request: HttpRequest) -> bool:
    """Say whether a browser follows another site's link and keeps back what cookies of ours it may have."""
    if request.method != "GET" or any(request.headers.get(each) != said for each, said in _LED.items()):
        return False
    if not _our_cookies().isdisjoint(request.COOKIES):
        return False
    # Who says so of a step from a page of ours would be led round for ever.
    return not request.headers.get("Referer", "").startswith(request.build_absolute_uri("/"))


def _our_cookies() -> set[str]:
    of_passes = {each.name for each in (DEVICE, CLASS_PASS, EXAM_PASS)}
    return of_passes | {settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME}
