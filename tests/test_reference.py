import pytest

from tests.reference import need_reference, run_r


def test_an_available_reference_lets_the_test_go_on() -> None:
    """Nothing happens when the reference is there."""
    need_reference("it", available=True, how_to_install="")


@pytest.mark.parametrize(("ci", "outcome"), [("", pytest.skip.Exception), ("true", pytest.fail.Exception)])
def test_a_missing_reference_is_never_silent(
    ci: str, outcome: type[BaseException], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A missing reference skips with a remedy on a desk, and fails where references are promised."""
    monkeypatch.setenv("CI", ci)
    with pytest.raises(outcome, match="reference missing: it; install with: money"):
        need_reference("it", available=False, how_to_install="money")


def test_r_answers() -> None:
    """The statistics language that tests compare with runs here, with its meta-analysis package."""
    fixed_effect = "cat(coef(rma(yi = c(1, 3), vi = c(1, 1), method = 'FE')))"  # by hand: (1 + 3) / 2
    assert float(run_r(fixed_effect, "metafor")) == pytest.approx(2)


def test_a_missing_r_package_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A package that R lacks is reported by name."""
    run_r("1")
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="R package nosuchpackage"):
        run_r("1", "nosuchpackage")


def test_an_error_in_r_is_a_failure() -> None:
    """R code that stops never passes for an answer."""
    with pytest.raises(pytest.fail.Exception, match="R refused"):
        run_r("stop('no')")
