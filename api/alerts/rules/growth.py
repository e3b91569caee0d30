"""A bird's last mornings as looks at its weight."""

from collections.abc import Iterable

from api.alerts.rules.looks import Look
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
#: Told of a weighing, not of the bird: heard on a morning that has no other weighing too.
OF_A_WEIGHING = frozenset({"implausible_weight"})


def growth_looks(mornings: Iterable[Morning]) -> tuple[Look, ...]:
    """One look for each morning; one whose weighings are all asked about tells nothing else of the bird."""
    return tuple(
        Look(
            at=morning.at,
            judged=CODES if morning.judged else OF_A_WEIGHING,
            findings=tuple(
                finding for finding in morning.assessment.findings if morning.judged or finding.code in OF_A_WEIGHING
            ),
        )
        for morning in mornings
    )
