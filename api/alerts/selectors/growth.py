"""What a stored bird's last mornings found in its weights."""

from copy import copy
from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID

import msgspec

from api.alerts.rules.growth import growth_looks
from api.alerts.rules.looks import Look
from api.birds.models import Bird
from api.birds.rules.words import WeighingState
from api.growth.rules.findings import Finding
from api.growth.rules.recent import MORNINGS, last_mornings
from api.growth.rules.record import WeighingKept
from api.growth.selectors.stored import judged_of
from species.domain.errors import ConflictError

EVER = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True)
class Doubted:
    """A weighing that cannot be the bird's own, and that nobody has been asked about yet."""

    weighing_id: UUID
    expected_g: float
    meant_g: float | None


@dataclass(frozen=True)
class GrowthSeen:
    """Looks at a bird's weight, all there are from ``covered_from`` on, and the weighings to be asked about."""

    looks: tuple[Look, ...] = ()
    covered_from: datetime = EVER
    doubted: tuple[Doubted, ...] = ()


def growth_seen(bird: Bird) -> GrowthSeen:
    """What a stored bird's last mornings say of its weight, by its record as it stands now.

    Raises
    ------
    DomainError
        Of a bird whose weights cannot be judged: species, age or growth curve is not known.
    """
    try:
        known, judged = judged_of(
            copy(bird)
        )  # what is fetched for it stays with the copy, and is fetched anew next time
    except ConflictError as error:
        if error.code == "no_weighings":
            return GrowthSeen()
        raise
    mornings = last_mornings(known, judged.asked)
    days = [morning for morning in mornings if morning.judged]
    return GrowthSeen(
        looks=tuple(_naming(look, judged.kept) for look in growth_looks(mornings)),
        # Fewer mornings than were asked for are all there are.
        covered_from=days[0].at if len(days) >= MORNINGS else EVER,
        doubted=tuple(
            Doubted(weighing.uid, finding.evidence["expected_g"], finding.evidence["meant_g"])
            for finding in mornings[-1].assessment.findings
            if finding.code == "implausible_weight"
            and (weighing := judged.kept[finding.evidence["weighing"]]).state is WeighingState.ACCEPTED
        ),
    )


def _naming(look: Look, kept: tuple[WeighingKept, ...]) -> Look:
    """A look whose findings name weighings by their ids, where rules name them by their places."""

    def named(finding: Finding) -> Finding:
        evidence = dict(finding.evidence)
        if "weighing" in evidence:
            evidence["weighing_id"] = str(kept[evidence.pop("weighing")].uid)
        return msgspec.structs.replace(finding, evidence=evidence)

    return msgspec.structs.replace(look, findings=tuple(named(finding) for finding in look.findings))
