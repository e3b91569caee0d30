"""A bird's last mornings as looks at its weight."""

from collections.abc import Sequence

from api.alerts.rules.looks import Look
from api.growth.rules.assessment import Assessment
from api.growth.rules.recent import Morning

CODES = frozenset(
    {
        "implausible_weight",
        "weight_loss",
        "no_gain",
        "low_for_age",
        "light_for_milestones",
        "weaning_loss",
        "rapid_gain",
        "age_doubtful",
    }
)
#: Told of a weighing, not of a morning: found as long as somebody has to answer for it, and no longer.
OF_A_WEIGHING = frozenset({"implausible_weight"})


def growth_looks(mornings: Sequence[Morning]) -> tuple[Look, ...]:
    """Looks at a bird's weight.

    Parameters
    ----------
    mornings
        As :func:`api.growth.rules.recent.last_mornings` gives them.

    Returns
    -------
    tuple of Look
        One for each morning that was judged, oldest first; then one at the weights that are asked about in the whole
        record, made when the last of them was weighed.
    """
    if not mornings:
        return ()
    of_mornings = tuple(
        Look(
            at=morning.at,
            judged=CODES - OF_A_WEIGHING,
            findings=tuple(f for f in morning.assessment.findings if f.code not in OF_A_WEIGHING),
        )
        for morning in mornings
        if morning.judged
    )
    return *of_mornings, _of_weighings(mornings[-1].assessment)


def _of_weighings(whole: Assessment) -> Look:
    """The newest of the weights that are asked about stands for all: there is one alert of them."""
    asked_about = sorted((f for f in whole.findings if f.code in OF_A_WEIGHING), key=lambda finding: finding.since)
    return Look(
        at=asked_about[-1].since if asked_about else whole.points[-1].at,
        judged=OF_A_WEIGHING,
        findings=tuple(asked_about[-1:]),
    )
