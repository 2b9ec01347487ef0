from fabella.protocol import load_protocol
from fabella.teach import cards_of
from tests.teach.patients import patient, patient_with


def test_the_cards_hold_what_each_of_the_three_needs() -> None:
    """Who plays gets words and what hurts, never the lesion; who marks gets lesion and findings."""
    hidden = patient_with("medial_meniscus_tear", "displaced", age_years=24)
    cards = cards_of(hidden)
    played = " ".join((cards.door, *sum((*cards.story, *cards.answers, *cards.hurts), ()), *cards.acting))
    assert "meniscus tear" not in played
    assert "24-year-old" in cards.door
    assert any("medial meniscus tear (displaced" in line for line in cards.lesions)
    assert cards.hurts
    assert all(line.endswith(".") for line in (*cards.findings, *cards.lesions, *cards.acting))


def test_every_abnormal_sign_stands_on_the_card() -> None:
    """What a careful examiner would find abnormal is read out by the one who marks."""
    protocol = load_protocol()
    for seed in range(5):
        hidden = patient(seed)
        told = " ".join(cards_of(hidden).findings)
        for finding in hidden.everything.findings:
            sign = protocol.sign(finding.sign)
            if finding.state == "abnormal" and finding.side is not None:
                assert f"{sign.name}, {finding.side}:" in told, (seed, sign.id)
