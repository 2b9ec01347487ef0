"""The evidence pages: whatever stands on them leads on, and every drawing shows the numbers beside it."""

import re
from collections.abc import Iterator
from html import unescape

import pytest
from django.test import Client

from fabella.anatomy import load_lesions
from fabella.evidence import load_edition, signs
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.pool_model import POOLED
from fabella.protocol import load_protocol
from fabella.report.likelihood_words import odds_words
from fabella.report.roc import _pool
from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.web.evidence.catalogue import catalogue, found, sources
from fabella.web.warming import pool_and_compile
from fabella.workup import Urgency, load_rules, tellings

PHRASE = "seven grey herons wade"
GROUPS = catalogue(load_edition(), load_knowledge(), load_protocol())
FAMILIES = ("signs", "lesions", "rules", "measures", "images")
EVERY_SO_MANY = 9  # of the sources, whose pages are all alike


def page(client: Client, address: str) -> str:
    """A page as it is sent."""
    answer = client.get(address)
    assert answer.status_code == 200, address
    return str(answer.content.decode())


def words(html: str) -> str:
    """The words of a piece of page."""
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", html).split()))


def links(html: str) -> set[str]:
    """Every address that a page leads to among the evidence, with its anchor."""
    return set(re.findall(r'href="(/evidence/[^"]*)"', html))


def rows(html: str) -> Iterator[str]:
    """Every row of the tables of sources on a page."""
    for table in re.findall(r'<table class="forest">.*?</table>', html, re.DOTALL):
        yield from re.findall(r"<tr.*?</tr>", table, re.DOTALL)


def test_everything_that_evidence_is_held_on_has_a_line() -> None:
    """Signs in the examiner's order, lesions, rules, measures and images are all in the list, once."""
    listed = [(group.part, line.id) for group in GROUPS for line in group.lines]
    assert len(listed) == len(set(listed))
    protocol, edition = load_protocol(), load_edition()
    in_order = [id_ for part, id_ in listed if part == "sign" and id_ in protocol]
    assert in_order == [sign.id for sign in protocol.signs]
    by_part = {part: {id_ for each, id_ in listed if each == part} for part, _ in listed}
    assert {each.sign_id for each in signs(edition)} <= by_part["sign"]
    assert set(load_lesions()) == by_part["lesion"]
    assert set(load_rules()) == by_part["rule"]
    measures = {row.measure_id for row in edition.norms}
    assert measures | {row.measure_id for row in edition.measurement_error} == by_part["measure"]
    assert {each.image for each in load_knowledge().images} == by_part["image"]
    assert {line.id for line in sources(edition).lines} == set(edition.sources)


@pytest.mark.parametrize("group", [*GROUPS, sources(load_edition())], ids=lambda group: group.title)
def test_every_line_opens_and_leads_to_pages_that_are_there(client: Client, group: object) -> None:
    """Each line opens its page; each link on it names a page and, with an anchor, a place on that page."""
    assert hasattr(group, "lines")
    known = {(each.part, line.id) for each in (*GROUPS, sources(load_edition())) for line in each.lines}
    chosen = group.lines[::EVERY_SO_MANY] if group.part == "source" else group.lines  # type: ignore[attr-defined]
    for line in chosen:
        html = page(client, f"/evidence/{group.part}s/{line.id}/")  # type: ignore[attr-defined]
        assert words(line.name)[:20].casefold() in words(html).casefold()
        for address in links(html):
            match = re.fullmatch(r"/evidence/(?:(\w+)s/([\w-]+)/)?(#[\w-]+)?", address)
            assert match is not None, address
            assert match[1] is None or (match[1], match[2]) in known, address
        assert not re.search(r'(href|src)="(?!/|#)', html), "nothing leads away from this machine"


def test_anchors_are_there(client: Client) -> None:
    """A link into the middle of a page finds its place there."""
    seen: dict[str, str] = {}
    for start in (
        "lesions/acl_tear",
        "lesions/medial_meniscus_tear",
        "signs/passive_extension",
        "measures/knee_angle",
    ):
        for address in links(page(client, f"/evidence/{start}/")):
            target, _, anchor = address.partition("#")
            # A sign without a published accuracy for the lesion has no such place; its page opens at the top.
            if anchor and not (target.startswith("/evidence/signs/") and anchor in load_lesions()):
                html = seen.setdefault(target, page(client, target))
                assert f'id="{anchor}"' in html, address
    assert 'id="acl_tear"' in page(client, "/evidence/signs/lachman/")


@pytest.mark.parametrize(
    "sign", ["lachman", "pivot_shift", "mcmurray", "posterior_sag", "effusion", "ottawa_knee_rule"]
)
def test_the_bars_stand_at_the_numbers_beside_them(client: Client, sign: str) -> None:
    """Measured back from the page, marks and ends of bars are the numbers of the same cell, as rounded."""
    measured = 0
    for row in rows(page(client, f"/evidence/signs/{sign}/")):
        for cell in re.findall(r'<td class="scale">.*?</td>', row, re.DOTALL):
            figure = re.search(r'<span class="figure">(.*?)(?: <small>|</span>)', cell, re.DOTALL)
            assert figure is not None
            said = [float(each) for each in re.findall(r"\d+(?:\.\d+)?", figure[1])]
            drawn = re.findall(r'class="at" x="([\d.]+)%"', cell)
            drawn += re.findall(r'class="end" x1="([\d.]+)%"', cell)
            if diamond := re.search(r'd="M([\d.]+) 5L([\d.]+) 1L([\d.]+) 5', cell):
                drawn = [diamond[2], *((diamond[1], diamond[3]) if len(said) > 1 else ())]
            assert sorted(map(float, drawn)) == pytest.approx(sorted(100 * each for each in said), abs=0.051)
            measured += len(drawn)
    assert measured >= 2


def test_what_is_used_is_told_by_shape_and_by_words(client: Client) -> None:
    """A source that the model uses has a ring round its mark and says so; the others have and say neither."""
    for sign in ("pivot_shift", "mcmurray_medial", "lachman", "thessaly_20"):
        for row in rows(page(client, f"/evidence/signs/{sign}/")):
            kind = re.match(r'<tr class="(\w+)"', row)
            if kind is None:
                continue
            assert ("used by the model" in words(row)) is (kind[1] == "used")
            assert ('class="ring"' in row) is (kind[1] == "used")
            assert ("one of those we pooled" in words(row)) is (kind[1] == "pooled")
            assert ("never used" in words(row)) is (kind[1] == "barred")


@pytest.mark.parametrize("sign", POOLED)
def test_the_drawing_of_pooled_studies_can_be_heard(client: Client, sign: str) -> None:
    """The drawing has a title and a description, and a row of a table for every circle."""
    html = page(client, f"/evidence/signs/{sign}/")
    figure = re.search(r'<figure class="roc">.*?</figure>', html, re.DOTALL)
    assert figure is not None
    assert re.search(r'aria-labelledby="(roc-\d+)-title \1-desc"', figure[0])
    assert "<title id=" in figure[0]
    assert "<desc id=" in figure[0]
    circles = re.findall(r'<circle class="study', figure[0])
    assert len(circles) == len(re.findall(r"<tr><td><i>\w</i>", figure[0])) >= 4


def test_without_a_drawing_the_page_says_why(client: Client) -> None:
    """Where counts of too few studies exist there is no ellipse, and the reason stands in its place."""
    html = words(page(client, "/evidence/signs/pivot_shift/"))
    assert "No ellipse: 2 studies with all four counts can be pooled; fewer than 4" in html
    assert "No ellipse: none of these sources prints all four counts" in html


def test_what_holds_of_some_is_said_beside_it(client: Client) -> None:
    """Fever of an infected joint goes by age, an effusion and torn menisci by how old the complaint is."""
    fever = " ".join(page(client, "/evidence/signs/fever/").split())
    assert re.search(r"[Ss]eptic arthritis <small>below 5 years</small></th>", fever)
    effusion = page(client, "/evidence/signs/effusion/")
    assert "<small>fresh</small>" in effusion
    assert "<small>older</small>" in effusion
    assert "given anterior cruciate ligament tear, older complaints" in page(
        client, "/evidence/lesions/medial_meniscus_tear/"
    ).replace("Anterior", "anterior")


def test_memory_judgement_and_gaps_are_said(client: Client) -> None:
    """Recalled numbers, judged links, and what was looked for in vain are named as such."""
    assert "value from memory, original not re-read" in words(page(client, "/evidence/signs/posterior_sag/"))
    assert "judgement: common practice" in words(page(client, "/evidence/signs/crepitus/"))
    assert "Looked for, and not found" in words(page(client, "/evidence/signs/j_sign/"))
    assert "moves no probability" in words(page(client, "/evidence/signs/greeting/"))


def test_what_a_sign_tells_is_what_the_model_says(client: Client) -> None:
    """The factors on the page of the Lachman test are those of the compiled model."""
    table = re.search(
        r'<table class="ledger tells-table">.*?</table>', page(client, "/evidence/signs/lachman/"), re.DOTALL
    )
    assert table is not None
    told = {each.lesion: each for each in tellings() if each.sign == "lachman"}
    shown = re.findall(
        r'/evidence/lesions/(\w+)/.*?data-is="abnormal">([^<]+)<.*?data-is="normal">([^<]+)<',
        table[0],
        re.DOTALL,
    )
    assert shown[0][0] == "acl_tear"
    for lesion, abnormal, normal in shown:
        assert abnormal == odds_words(told[lesion].bits_for)
        assert normal == odds_words(told[lesion].bits_against)


def test_a_rule_shows_its_criteria_and_how_well_it_does(client: Client) -> None:
    """The Ottawa rule has its criteria, its action, its identifier as text, its published accuracy."""
    html = page(client, "/evidence/rules/ottawa_knee/")
    rule = load_rules()["ottawa_knee"]
    for criterion in rule.criteria:
        assert criterion.words[1:] in unescape(html)
    assert rule.action in html
    assert rule.doi_or_pmid in html
    assert "Bachmann 2004" in html
    assert len(list(rows(html))) > 3


def test_a_rule_is_framed_by_its_urgency(client: Client) -> None:
    """What cannot wait stands in the frame it has on a conclusion; what is not urgent does not."""
    for rule in load_rules().values():
        html = page(client, f"/evidence/rules/{rule.id}/")
        framed = re.findall(r'<div class="(can(?:not)?-wait)"><p><b>', html)
        routine = rule.urgency is Urgency.ROUTINE_BUT_DO_NOT_MISS
        assert framed == ["can-wait" if routine else "cannot-wait"], rule.id


def test_a_rule_is_told_in_words(client: Client) -> None:
    """No page of a rule shows the arrows, ids and abbreviations with which its tables were typed."""
    for rule in load_rules():
        text = re.sub(r"<[^>]*>", " ", page(client, f"/evidence/rules/{rule}/"))
        typed = r"->|-&gt;|→|\b[A-Z]+_[A-Z_]+\b|\bpct\b|\b(?:acc|act|cut|lr)\d*\b"
        assert not re.findall(typed, text), rule


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("trillat", "lachman"),
        ("stiell", "ottawa_knee"),
        ("sokal 2022", "sokal_2022"),
        ("girth", "thigh_girth"),
    ],
)
def test_everything_is_found_by_another_name(client: Client, query: str, expected: str) -> None:
    """Other names, authors and years find their lines, on the server, without a script."""
    html = page(client, f"/evidence/?q={query.replace(' ', '+')}")
    assert f"/{expected}/" in html
    assert f'value="{query}"' in html
    assert '<details class="part" open>' in html


def test_what_is_not_there_is_said() -> None:
    """A query that nothing holds finds nothing, one without words finds everything."""
    assert found(GROUPS, "no such thing") == ()
    assert found(GROUPS, " ") == GROUPS


def test_a_query_is_never_read_as_markup(client: Client) -> None:
    """What was typed is shown as it was typed."""
    html = page(client, "/evidence/?q=<script>alert(1)</script>")
    assert "<script>alert" not in html
    assert "Nothing is called “&lt;script&gt;" in html


@pytest.mark.parametrize("family", [*FAMILIES, "sources"])
def test_what_does_not_exist_has_no_page(client: Client, family: str) -> None:
    """An unknown name leads to no page."""
    assert client.get(f"/evidence/{family}/no_such_thing/").status_code == 404


@pytest.mark.parametrize("role", list(Role))
def test_everybody_with_an_account_may_read_it(client: Client, role: Role) -> None:
    """Evidence holds no patient: clinicians, teachers, examiners, students and administrators read it."""
    open_account("one", password=PHRASE, roles=[role])
    assert client.post("/login/", {"name": "one", "password": PHRASE}).status_code == 302
    assert "Evidence" in page(client, "/evidence/")
    assert "Lachman test" in page(client, "/evidence/signs/lachman/")


def test_a_visit_leads_to_the_evidence(demo: Client) -> None:
    """Every reason, lesion, rule, step, sign and yardstick on a visit is a link, and each link opens."""
    addresses: set[str] = set()
    for number in range(1, 10):
        html = page(demo, f"/visits/{number}/")
        addresses |= links(html)
        for table in re.findall(r'<table class="reasons">.*?</table>', html, re.DOTALL):
            reasons = re.findall(r'<th scope="row">(.*?)</th>', table, re.DOTALL)
            assert reasons
            for each in reasons:
                assert re.match(r'<a href="/evidence/(?:signs|images)/\w+/#\w+">', each)
                assert re.search(r"<small>(published|derived|judgement)", each)
        for matter in re.findall(r'<div class="matter">.*?</div>', html, re.DOTALL):
            assert "/evidence/rules/" in matter
        for step in re.findall(r'<ul class="next">.*?</ul>', html, re.DOTALL):
            assert step.count("<li") == step.count('<a href="/evidence/')
        for step in re.findall(r'<ul class="not-now">(.*?)</ul>', html, re.DOTALL):
            assert all('<a href="/evidence/signs/' in each for each in step.split("<li>")[1:])
    families = {address.split("/")[2] for address in addresses}
    assert families - {""} == {"signs", "lesions", "rules", "images", "measures"}
    for target in sorted({address.partition("#")[0] for address in addresses}):
        page(demo, target)


def test_what_takes_long_is_worked_out_beforehand(client: Client) -> None:
    """After the warming that follows the start, the page of a pooled sign pools and compiles nothing more."""
    pool_and_compile()
    before = (_pool.cache_info().misses, tellings.cache_info().misses)
    page(client, "/evidence/signs/lachman/")
    assert (_pool.cache_info().misses, tellings.cache_info().misses) == before
