"""The line at hand of a phone, which stands for what it comes to while that is folded away."""

import json
import re

import pytest
from django.test import Client

from tests.web.clinic import add, begin

FILE = {
    "format": "fabella.examination/1",
    "id": "fell-from-a-ladder",
    "origin": "invented",
    "context": {"acuity": "acute", "onset_days": 1, "mechanism": "high_energy", "complaint": ["right"]},
    "history": {"unable_to_weight_bear_at_injury": True, "swelling_noticed": True},
    "findings": [
        {"sign": "effusion", "side": "right", "state": "abnormal"},
        {"sign": "posterior_drawer", "side": "right", "state": "abnormal", "level": "2+"},
        {"sign": "valgus_stress_30", "side": "right", "state": "abnormal", "level": "2+"},
    ],
}


@pytest.mark.parametrize(
    ("born", "told"),
    [
        ({}, "Not excluded: Knee dislocation, also if it has gone back by itself. Right: "),
        ({"birth_date": "1960-01-01"}, "Cannot wait: Ottawa knee rule: possible fracture. 1 not excluded. "),
    ],
)
def test_what_is_for_now_and_not_excluded_is_in_the_line(
    client: Client, born: dict[str, str], told: str
) -> None:
    """By name where nothing rang, and below what rang as how many there are."""
    visit = begin(client, add(client, **born))
    answer = client.post(f"{visit}bring/", {"base": "2", "text": json.dumps(FILE)})
    assert answer.status_code == 302
    page = client.get(f"{visit}comes-to/").content.decode()
    line = re.search(r'<p class="headline".*?</p>', page, re.DOTALL)
    assert line is not None
    assert re.sub("<[^>]*>", "", line[0]).startswith(told)
