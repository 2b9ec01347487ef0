"""Letter and patient's page in the clinician's own words: saved, signed, kept, and made again."""

from __future__ import annotations

import hashlib
import json
import zlib
from typing import Any

import pytest
from django.db import connections, transaction

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Key, Part, Passage, Writing, passage_name, read_examination
from fabella.report import Placed, as_text, signed_words
from fabella.store import Actor, Disputed, Moved
from fabella.store.clinic.charting import save
from fabella.store.clinic.papers import FairPaper, own_words, packed, paper, unpacked, writers_of
from fabella.store.clinic.remaking import remake
from fabella.store.clinic.settling import settle_dispute
from fabella.store.clinic.signing import amend, sign
from fabella.store.clinic.verifying import verify
from fabella.store.clinic.visits import SignedRecord, see_signed, see_visit
from fabella.store.router import CLINIC
from fabella.workup import Workup, run_workup, workup_again
from tests.store.people import ANN, BEN, LATER, LAX, NOW, TODAY, answer, batch, finding, new_visit


def words(visit: int, passage: str, text: str | None, **more: Any) -> dict[str, Any]:
    """An operation that puts a passage in other words, against what the program says there now."""
    writing = Writing(more.pop("document", "letter"))
    if "computed" not in more:
        more["computed"] = placed_now(visit, writing)[passage].computed
    base = see_visit(ANN, visit, now=NOW).line.version
    change = {"change": "set_passage", "document": writing, "passage": passage, "text": text}
    return {"id": f"words-of-tests-{base:06}", "base": base, **change, **more}


def said(visit: int, passage: str, text: str | None, *, who: Actor = ANN, **more: Any) -> None:
    """Save a passage in other words."""
    (result,) = save(who, visit, batch(words(visit, passage, text, **more)), now=NOW).results
    assert result.problems == ()


def fair_now(visit: int, writing: Writing) -> FairPaper:
    """The paper as it would be signed now."""
    record = see_visit(ANN, visit, now=NOW)
    workup = run_workup(record.examination)
    identity = record.line.patient.identity
    return paper(writing, workup, written_on=TODAY, identity=identity, own=own_words(record.sheet, writing))


def placed_now(visit: int, writing: Writing) -> dict[str, Placed]:
    """Every passage of it by its id."""
    return {
        each.id: each
        for _, blocks in fair_now(visit, writing).sections
        for each in blocks
        if isinstance(each, Placed)
    }


@pytest.fixture
def visit(files: None) -> int:
    """A visit with something found, and something that cannot wait."""
    del files
    return hot_knee()


@pytest.fixture
def anywhere(database: str) -> int:
    """The same on every kind of database."""
    assert database
    return hot_knee()


def hot_knee() -> int:
    """Begin a visit and write down a hot knee."""
    made = new_visit()
    hot = [
        finding({"sign": "warmth", "side": "right", "state": "abnormal", "level": "hot"}),
        finding({"sign": "effusion_sweep", "side": "right", "state": "abnormal", "level": "3+"}),
    ]
    told = [answer("fever", True), answer("rigors_or_unwell", True)]
    save(ANN, made, batch(finding(LAX), *hot, *told), now=NOW)
    return made


def signed(visit: int, number: int = 1, addressee: str = "") -> SignedRecord:
    """Sign a visit and return what was signed."""
    version = see_visit(ANN, visit, now=NOW).line.version
    assert sign(ANN, visit, version=version, addressee=addressee, today=TODAY, now=NOW) == number
    return see_signed(ANN, visit, number, now=LATER)


def firm(visit: int, writing: Writing) -> str:
    """The first passage that cannot wait."""
    return next(name for name, each in placed_now(visit, writing).items() if each.firm)


def test_signing_keeps_both_what_was_computed_and_what_was_written(anywhere: int) -> None:
    """Letter and patient's page are kept as signed and as computed, with who wrote what against what."""
    computed = placed_now(anywhere, Writing.LETTER)["plan-next"].computed
    said(anywhere, "plan-next", "Washed out tonight.")
    said(anywhere, "addressee", "Dr Invented", computed="")
    said(anywhere, "looked-for", "We saw you.", document="summary")
    record = signed(anywhere)
    letter, page = (record.paper(each) for each in Writing)
    assert letter is not None
    assert page is not None
    assert "Next step: Washed out tonight." in letter.text == record.letter
    assert record.addressee == "Dr Invented"
    assert "To: Dr Invented" in letter.text
    assert computed.split()[0] in letter.computed
    assert "Washed out" not in letter.computed
    kept = {each.passage: each for each in letter.reworded}
    assert kept["plan-next"].own == Passage(text="Washed out tonight.", computed=computed)
    assert kept["plan-next"].author == "ann"
    assert "We saw you." in page.text
    assert as_text(letter.document) == letter.text
    assert hashlib.sha256(letter.pdf).hexdigest() == letter.pdf_sha256
    assert verify(ANN).faults == ()


def test_what_was_signed_says_by_whom_and_when(visit: int) -> None:
    """Letter and patient's page end with it, in text and PDF alike; an amendment names what it replaces."""
    first = signed(visit)
    for each in first.papers:
        assert signed_words("Ann", NOW) in " ".join(each.text.split())
        assert each.document.signature == signed_words("Ann", NOW)
        assert "Signed by" not in each.computed
    amend(ANN, visit, "The plan changed", now=NOW)
    second = signed(visit, number=2)
    for each in second.papers:
        assert each.document.signature == signed_words("Ann", NOW, number=2, before=NOW)
    assert remake(first).is_exact
    assert remake(second).is_exact
    assert verify(ANN).faults == ()


def test_a_visit_that_was_signed_and_opened_again_meanwhile_is_not_signed_unread(visit: int) -> None:
    """Nobody's letter says that it is the first where another one was signed while it was written out."""
    version = see_visit(ANN, visit, now=NOW).line.version

    def overtaken(examination: Any) -> Workup:
        sign(BEN, visit, version=version, addressee="", today=TODAY, now=NOW)
        amend(BEN, visit, "Too early", now=NOW)
        return run_workup(examination)

    with pytest.raises(Moved, match="signed and opened again"):
        sign(ANN, visit, version=version, addressee="", today=TODAY, now=NOW, workup=overtaken)
    assert verify(ANN).faults == ()


def test_what_was_kept_before_it_said_who_signed_stays_as_it_was(visit: int) -> None:
    """A page without that line, and of the arrangement of then, gets neither when it is read again."""
    document = fair_now(visit, Writing.LETTER).document
    tree = json.loads(zlib.decompress(packed(document)))
    for name in ("signature", "layout"):
        del tree["document"][name]
    kept, _ = unpacked(zlib.compress(json.dumps(tree).encode()))
    assert (kept.signature, kept.layout) == ("", 1)
    assert as_text(kept) == as_text(document)


def test_an_addressee_given_at_the_signature_goes_first(visit: int) -> None:
    """What the signer names last heads the letter."""
    said(visit, "addressee", "Dr Invented", computed="")
    record = signed(visit, addressee="Dr Made Up")
    assert (record.addressee, "To: Dr Made Up" in record.letter) == ("Dr Made Up", True)
    assert "Dr Invented" not in record.letter
    assert remake(record).is_exact


def test_an_addressee_too_long_to_be_kept_is_told_before_the_signature(anywhere: int) -> None:
    """Written on the letter or given at the signature it is refused alike, on every kind of database."""
    said(anywhere, "addressee", "Dr Invented, " * 20, computed="")
    with pytest.raises(InputError, match=r"letter, to: 'Dr Invented.* is too long"):
        signed(anywhere)
    with pytest.raises(InputError, match=r"addressee: 'Dr Invented.* is too long"):
        signed(anywhere, addressee="Dr Invented, " * 20)
    assert signed(anywhere, addressee="Dr Made Up").addressee == "Dr Made Up"


@pytest.mark.parametrize("writing", Writing)
def test_what_cannot_wait_is_not_signed_away_without_a_reason(visit: int, writing: Writing) -> None:
    """The words are saved, nobody can sign them; with the reason they are signed, and it is kept."""
    name = firm(visit, writing)
    said(visit, name, "", document=writing)
    version = see_visit(ANN, visit, now=NOW).line.version
    with pytest.raises(InputError, match="must not be missed, and is no longer said"):
        sign(ANN, visit, version=version, addressee="", today=TODAY, now=NOW)
    said(visit, name, "", document=writing, reason="Taken to theatre already")
    kept = signed(visit).paper(writing)
    assert kept is not None
    assert [each.own.reason for each in kept.reworded] == ["Taken to theatre already"]


def test_words_older_than_what_the_program_says_are_not_signed_unread(visit: int) -> None:
    """After the examination has changed under an edited passage, somebody has to say which words hold."""
    said(visit, "findings-right", "A hot knee.")
    base = see_visit(ANN, visit, now=NOW).line.version
    save(ANN, visit, batch(finding({**LAX, "level": "3+"}, base=base)), now=NOW)
    assert placed_now(visit, Writing.LETTER)["findings-right"].is_stale
    with pytest.raises(InputError, match="before the program changed what it says"):
        sign(ANN, visit, version=base + 1, addressee="", today=TODAY, now=NOW)
    said(visit, "findings-right", "A hot knee.")  # with the new computed text before them
    assert "Right knee: A hot knee." in signed(visit).letter


def test_words_taken_back_leave_the_computed_ones(visit: int) -> None:
    """The passage is the program's again; the entries that said otherwise stay."""
    before = fair_now(visit, Writing.LETTER).text
    said(visit, "plan-next", "Washed out tonight.")
    said(visit, "plan-next", None)
    assert fair_now(visit, Writing.LETTER).text == before
    assert see_visit(ANN, visit, now=NOW).line.version == 9


def test_two_who_put_a_passage_in_other_words_unseen_are_in_dispute(visit: int) -> None:
    """Nothing is overwritten and nothing signed until somebody says whose words hold."""
    base = see_visit(ANN, visit, now=NOW).line.version
    for who, text in ((ANN, "Ann’s words."), (BEN, "Ben’s words.")):
        operation = {**words(visit, "plan-next", text), "base": base}
        save(who, visit, batch(operation), now=NOW)
    record = see_visit(ANN, visit, now=NOW)
    key = Key(Part.PASSAGE, passage_name(Writing.LETTER, "plan-next"))
    assert list(record.sheet.conflicts) == [key]
    with pytest.raises(Disputed):
        sign(ANN, visit, version=record.line.version, addressee="", today=TODAY, now=NOW)
    form = {"part": "passage", "name": key.name, "side": "", "version": str(base + 2), "seen": str(base + 2)}
    settle_dispute(ANN, visit, form, now=NOW)
    assert own_words(see_visit(ANN, visit, now=NOW).sheet, Writing.LETTER)["plan-next"].text == "Ben’s words."
    assert "Ben’s words." in signed(visit).letter


def test_an_amended_visit_keeps_its_words(visit: int) -> None:
    """The words go on into the next version; the earlier one stays as it was."""
    said(visit, "plan-next", "Washed out tonight.")
    first = signed(visit)
    amend(ANN, visit, "The plan changed", now=NOW)
    said(visit, "plan-next", "Washed out tomorrow.")
    second = signed(visit, number=2)
    assert "tomorrow" in second.letter
    assert see_signed(ANN, visit, 1, now=LATER).letter == first.letter


def test_what_was_signed_is_made_again_to_the_last_character(visit: int) -> None:
    """File, edition, own words and addressee give the very letter and page, and their PDFs to the byte."""
    said(visit, "plan-next", "Washed out tonight.")
    said(visit, "may-mean", "It is hot.", document="summary")
    found = remake(signed(visit, addressee="Dr Made Up"))
    assert found.is_exact
    assert "to the last character" in found.verdict
    assert [(each.same_words, each.same_computed, each.same_drawing) for each in found.papers] == [
        (True, True, True),
        (True, True, True),
    ]


def test_a_program_that_words_it_otherwise_is_found_out(visit: int) -> None:
    """Made again with another conclusion the papers differ; it is said where, and what was signed stays."""
    record = signed(visit)

    def otherwise(examination: Any, edition: str) -> Workup:
        del edition
        healthy = read_examination(record.file, protocol=load_protocol(), today=TODAY)
        assert examination == healthy
        bare = run_workup(examination)
        return type(bare)(**{name: getattr(bare, name) for name in bare.__slots__} | {"advice": None})

    found = remake(record, workup=otherwise)
    assert not found.is_exact
    assert "reads otherwise" in found.verdict
    assert any(line.startswith("- Not now:") for line in found.papers[0].differences)
    assert see_signed(ANN, visit, 1, now=LATER).letter == record.letter


def test_an_edition_that_is_gone_is_said(visit: int) -> None:
    """Without the tables it was signed with nothing is made again, and nothing is pretended."""
    record = signed(visit)
    fields = {name: getattr(record, name) for name in record.__slots__}
    found = remake(SignedRecord(**fields | {"edition": "1999.1"}))
    assert (found.is_exact, found.papers) == (False, ())
    assert "edition 1999.1 of the evidence is not packaged" in found.verdict


def test_an_edition_is_used_by_its_name(visit: int) -> None:
    """The latest edition named gives what the latest gives unnamed."""
    examination = see_visit(ANN, visit, now=NOW).examination
    assert workup_again(examination, edition="2026.1") == run_workup(examination)


def test_the_conclusion_is_kept_as_it_was_signed(visit: int) -> None:
    """A signed visit shows the words and numbers of its signature, read again from what was kept."""
    live = run_workup(see_visit(ANN, visit, now=NOW).examination)
    signed(visit)
    record = see_visit(ANN, visit, now=LATER)
    assert record.signed is not None
    assert record.signed.edition == live.edition
    letter = record.signed.paper(Writing.LETTER)
    assert letter is not None
    assert letter.concluded is not None
    first = next(each for knee in letter.concluded.knees for each in knee.lesions)
    assert live.conclusion is not None
    assert any(
        entry.probability == first.probability
        for knee in live.conclusion.knees
        for entry in knee.any_level()
        if entry.lesion == first.lesion
    )
    assert letter.concluded.urgent
    assert letter.plate.startswith("<svg")


def test_a_signed_paper_that_was_changed_behind_the_programs_back_is_found(
    anywhere: int, database: str
) -> None:
    """Past every trigger a word is changed: the trail tells."""
    signed(anywhere)
    with transaction.atomic(using=CLINIC), connections[CLINIC].cursor() as cursor:
        if database != "postgresql":
            cursor.execute("DROP TRIGGER clinic_paper_no_update")
        else:
            cursor.execute("ALTER TABLE clinic_paper DISABLE TRIGGER clinic_paper_kept")
    try:
        with transaction.atomic(using=CLINIC), connections[CLINIC].cursor() as cursor:
            cursor.execute("UPDATE clinic_paper SET computed = 'nothing' WHERE kind = 'letter'")
        (fault,) = verify(ANN).faults
        assert fault == f"the papers of signature 1 of visit {anywhere} are not as they were signed"
    finally:
        if database == "postgresql":
            with transaction.atomic(using=CLINIC), connections[CLINIC].cursor() as cursor:
                cursor.execute("ALTER TABLE clinic_paper ENABLE TRIGGER clinic_paper_kept")


def test_who_wrote_a_passage_is_known(visit: int) -> None:
    """The sheet names the last writer of each passage."""
    said(visit, "plan-next", "Washed out tonight.", who=BEN)
    record = see_visit(ANN, visit, now=NOW)
    assert writers_of(record.sheet, Writing.LETTER) == {"plan-next": "ben"}
    assert writers_of(record.sheet, Writing.SUMMARY) == {}
