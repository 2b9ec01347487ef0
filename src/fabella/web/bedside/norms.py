"""What a measurement is held against, in few words, before it is taken."""

from __future__ import annotations

from fabella.protocol import load_protocol
from fabella.record import Patient
from fabella.report.wording import figure, quantity
from fabella.workup import NormUsed, normal_values


def norm_words(patient: Patient) -> dict[str, str]:
    """Return for each measured sign what is normal at this age and sex; empty when the age is unknown."""
    protocol = load_protocol()
    return {
        sign: _words(norm, protocol.sign(sign).scale.measure.unit)  # type: ignore[union-attr]
        for sign, norm in normal_values(patient).items()
        if sign in protocol and protocol.sign(sign).has_measure
    }


def _words(norm: NormUsed, unit: str) -> str:
    mean = "" if norm.mean is None else f"mean {quantity(norm.mean, unit)}"
    if not norm.may_cut:
        return f"normal: {mean}" if mean else ""
    match norm.low, norm.high:
        case None, float() as high:
            limits = f"up to {quantity(high, unit)}"
        case float() as low, None:
            limits = f"from {quantity(low, unit)}"
        case float() as low, float() as high:
            limits = f"{figure(low)} to {quantity(high, unit)}"
        case _:
            limits = ""
    return f"normal: {', '.join(filter(None, (limits, mean)))}"
