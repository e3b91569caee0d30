"""The growth of stored birds: what was recorded of them is fetched here, the rules do the rest."""

from datetime import date
from typing import Any
from uuid import UUID

import msgspec

from api.birds.models import Bird
from api.catalog.rules.known import Known
from api.growth.rules.assessment import Assessment, assess
from api.growth.rules.chart import assessment_chart
from api.growth.rules.stored import Judged, judged_by
from api.growth.selectors.records import fetched, growth_kept, of_the_record, species_of
from api.web.build import BUILD
from species.domain.record import Record


class StoredGrowth(Record, frozen=True, kw_only=True):
    """A stored bird's species, what its growth is judged by, and the judgement."""

    bird_id: UUID
    known: Known
    revision: int | None
    judged: Judged
    assessment: Assessment


def judged_of(bird: Bird, on: date | None = None) -> tuple[Known, Judged]:
    """A bird's species, and what its growth is judged by; for rules that judge it in their own way.

    Raises
    ------
    ConflictError
        Where the record does not hold enough: ``no_weighings``, ``age_missing`` and others.
    """
    bird = fetched(bird)
    with of_the_record():
        known, _ = species_of(bird)
        return known, judged_by(known, growth_kept(bird), on=on)


def growth_of(bird: Bird, on: date | None = None) -> StoredGrowth:
    """Judge the growth of a stored bird.

    Constant in its weighings: three queries and its species'; none for birds that ``with_growth`` was called for.

    Raises
    ------
    ConflictError
        As :func:`judged_of`; also of a species without a growth curve.
    """
    bird = fetched(bird)
    known, judged = judged_of(bird, on)
    with of_the_record():
        assessment = assess(known, judged.asked)
    return StoredGrowth(
        bird_id=bird.uid,
        known=known,
        revision=species_of(bird)[1],
        judged=judged,
        assessment=msgspec.structs.replace(
            assessment,
            cautions=(*assessment.cautions, *judged.cautions),
            basis=(*judged.basis, *assessment.basis),
        ),
    )


def bird_assessment(bird: Bird, on: date | None = None) -> dict[str, Any]:
    """A stored bird's growth, field by field: as of an assessment, with the ids of the bird and its weighings."""
    growth = growth_of(bird, on)
    kept = growth.judged.kept
    answer = msgspec.structs.asdict(growth.assessment)
    points = [
        {
            **msgspec.structs.asdict(point),
            "weighing_id": kept[point.index].uid,
            "weighing_state": kept[point.index].state,
        }
        for point in growth.assessment.points
    ]
    findings = [
        {**msgspec.structs.asdict(finding), "evidence": _by_id(finding.evidence, growth.judged)}
        for finding in growth.assessment.findings
    ]
    age = growth.judged.age
    return {
        "bird_id": growth.bird_id,
        "age": {
            "basis": age.basis,
            "estimate": age.estimate and {**msgspec.structs.asdict(age.estimate), "on": age.estimated_on},
        },
        **answer,
        "points": points,
        "findings": findings,
        "computed_by": {"revision": growth.revision, "build": BUILD},
    }


def bird_chart(bird: Bird, on: date | None = None) -> str:
    """A stored bird's growth as a chart, SVG text."""
    growth = growth_of(bird, on)
    return assessment_chart(growth.known, growth.judged.asked, growth.assessment)


def _by_id(evidence: dict[str, Any], judged: Judged) -> dict[str, Any]:
    """Evidence that names a weighing by its place names it by its id too."""
    if "weighing" not in evidence:
        return evidence
    return {**evidence, "weighing_id": str(judged.kept[evidence["weighing"]].uid)}
