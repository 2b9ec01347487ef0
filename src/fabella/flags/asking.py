"""What there is left to ask before a rule is met or excluded."""

from dataclasses import replace

from fabella.flags.knee import Knee
from fabella.flags.rule import CLAUSES, Criterion

WHICH_KNEE = Criterion(
    id="complaint", words="this knee is complained of", ask="ask which knee the patient complains of"
)

_AGE = Criterion(id="age", words="of the age that the rule is for", ask="ask for the age")
_INJURY = Criterion(id="injury", words="injured lately", ask="ask about an injury, and when it was")


def what_concerns(knee: Knee) -> tuple[Criterion, ...]:
    """Return what to ask where all criteria are known, but not whether the rule is for this knee."""
    if knee.complained_of is None:
        return (WHICH_KNEE,)
    return (_AGE if knee.age_years is None else _INJURY,)


def still_to_ask(criterion: Criterion, knee: Knee) -> Criterion:
    """Return a criterion without what is on record: nobody is asked twice whether he had a fever."""
    done = {clause for clause, signs in criterion.answered if all(map(knee.recorded, signs))}
    left = [clause for clause in criterion.ask.split(CLAUSES) if clause not in done]
    return replace(criterion, ask=CLAUSES.join(left)) if left else criterion
