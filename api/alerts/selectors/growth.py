"""A bird's weighings, and what its last mornings found in them."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

import msgspec

from api.alerts.rules.growth import growth_looks
from api.alerts.rules.looks import Look
from api.birds import selectors as birds_selectors
from api.birds.models import Bird, Weighing
from api.birds.rules.words import Context, WeighingState
from api.catalog.selectors import species_known
from api.growth.rules.asked import FEATHERED, AgeTold, GrowthAsked
from api.growth.rules.asked import Weighing as WeighingAsked
from api.growth.rules.findings import Finding
from api.growth.rules.recent import MORNINGS, last_mornings

EVER = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True)
class Doubted:
    """A weighing that cannot be the bird's own, and that nobody has been asked about yet."""

    weighing: Weighing
    expected_g: float
    meant_g: float | None


@dataclass(frozen=True)
class GrowthSeen:
    """Looks at a bird's weight, all there are from ``covered_from`` on, and the weighings to be asked about."""

    looks: tuple[Look, ...] = ()
    covered_from: datetime = EVER
    doubted: tuple[Doubted, ...] = ()


def growth_seen(bird: Bird) -> GrowthSeen:
    """What a stored bird's last mornings say of its weight.

    Raises
    ------
    DomainError
        Of a bird whose weights cannot be judged: species, age or growth curve is not known.
    """
    rows = tuple(birds_selectors.bird_weighings(bird).exclude(state=WeighingState.REJECTED))
    if not rows:
        return GrowthSeen()
    known, _ = species_known(bird.species, bird.unlisted_species)
    mornings = last_mornings(known, _asked(bird, rows))
    judged = [morning for morning in mornings if morning.judged]
    return GrowthSeen(
        looks=tuple(_naming(look, rows) for look in growth_looks(mornings)),
        # Fewer mornings than were asked for are all there are.
        covered_from=judged[0].at if len(judged) >= MORNINGS else EVER,
        doubted=tuple(
            Doubted(row, finding.evidence["expected_g"], finding.evidence["meant_g"])
            for finding in mornings[-1].assessment.findings
            if finding.code == "implausible_weight"
            and (row := rows[finding.evidence["weighing"]]).state == WeighingState.ACCEPTED
        ),
    )


def _naming(look: Look, rows: tuple[Weighing, ...]) -> Look:
    """A look whose findings name weighings by their ids, where rules name them by their places."""

    def named(finding: Finding) -> Finding:
        evidence = dict(finding.evidence)
        if "weighing" in evidence:
            evidence["weighing_id"] = str(rows[evidence.pop("weighing")].uid)
        return msgspec.structs.replace(finding, evidence=evidence)

    return msgspec.structs.replace(look, findings=tuple(named(finding) for finding in look.findings))


def _asked(bird: Bird, rows: tuple[Weighing, ...]) -> GrowthAsked:
    estimate = bird.age_estimate
    seen = {step.key for step in birds_selectors.milestones_of(bird) if step.seen}
    return GrowthAsked(
        weighings=tuple(
            WeighingAsked(
                at=row.at,
                mass_g=float(row.mass_g),
                context=Context(row.context),
                scale_step_g=None if row.scale_step_g is None else float(row.scale_step_g),
                index=place,
                confirmed=row.state == WeighingState.CONFIRMED,
                questioned=row.state == WeighingState.QUESTIONED,
            )
            for place, row in enumerate(rows)
        ),
        time_zone=bird.site.time_zone,
        hatched_on=bird.hatched_on,
        hatched_at=bird.hatched_at,
        age_estimate=estimate and AgeTold(**{**estimate, "on": date.fromisoformat(estimate["on"])}),
        strain=bird.strain,
        adult_mass_g=bird.adult_mass_g,
        feathered=bool(seen & FEATHERED),
    )
