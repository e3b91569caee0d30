"""Birds' records fetched for what is computed of them: in as many queries for a hundred birds as for one."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from copy import copy

import msgspec
from django.db.models import Prefetch, QuerySet, prefetch_related_objects

from api.birds.models import Bird, Feed, Milestone, Weighing
from api.birds.rules.words import Context, Purpose, WeighingState
from api.catalog.rules.known import Known
from api.catalog.selectors import species_known
from api.growth.rules.asked import AgeTold
from api.growth.rules.record import MOST_WEIGHINGS, GrowthKept, MilestoneKept, WeighingKept
from species.domain.errors import ConflictError, DomainError
from species.domain.vocabulary import MilestoneKey
from species.selectors import RenamedSpecies

Species = tuple[Known, int | None]


def _weighings() -> QuerySet[Weighing]:
    """One more than are used, to see whether there are older ones."""
    found = Weighing.objects.exclude(state=WeighingState.REJECTED).order_by("-at", "-row")
    return found[: MOST_WEIGHINGS + 1]


def with_growth(birds: Sequence[Bird]) -> None:
    """Fetch what :func:`growth_kept` and :func:`species_of` read of birds that have it not yet.

    Four queries, and one for each species of which there are some.
    """
    prefetch_related_objects(
        birds,
        "site",
        Prefetch("weighings", queryset=_weighings(), to_attr="last_weighings"),
        Prefetch("milestones", queryset=Milestone.objects.order_by("observed_at", "row"), to_attr="all_milestones"),
        Prefetch(
            "feeds",
            queryset=Feed.objects.filter(purpose=Purpose.WEANING).order_by("-at", "-row")[:1],
            to_attr="last_weaning_feed",
        ),
    )

    found: dict[str, Species | DomainError] = {}
    for bird in birds:
        told = repr((bird.species, bird.unlisted_species))
        if told not in found:
            found[told] = _species(bird)
        bird.species_found = found[told]  # type: ignore[attr-defined]


def fetched(bird: Bird) -> Bird:
    """The bird with what :func:`with_growth` fetches; of one that has it not a copy, on which nothing can go stale."""
    if hasattr(bird, "last_weighings"):
        return bird
    own = copy(bird)
    with_growth([own])
    return own


def species_of(bird: Bird) -> Species:
    """What is known of a bird's species, and the revision, of what :func:`with_growth` has fetched."""
    found: Species | DomainError = bird.species_found  # type: ignore[attr-defined]
    if isinstance(found, DomainError):
        raise found
    return found


@contextmanager
def of_the_record() -> Iterator[None]:
    """What the rules find wrong with a stored bird is a conflict with its record: no request holds it."""
    try:
        yield
    except ConflictError:
        raise
    except DomainError as error:
        raise ConflictError(error.detail, code=error.code, remedy=error.remedy) from error


def _species(bird: Bird) -> Species | DomainError:
    try:
        return species_known(bird.species, bird.unlisted_species)
    except RenamedSpecies as renamed:
        return species_known(renamed.new_key, None)
    except DomainError as error:
        return error


def growth_kept(bird: Bird) -> GrowthKept:
    """A bird's record in plain values, of what :func:`with_growth` has fetched."""
    last: list[Weighing] = bird.last_weighings  # type: ignore[attr-defined]
    weaning_fed: list[Feed] = bird.last_weaning_feed  # type: ignore[attr-defined]
    return GrowthKept(
        time_zone=bird.site.time_zone,
        weighings=tuple(_weighing(one) for one in reversed(last[:MOST_WEIGHINGS])),
        older=len(last) > MOST_WEIGHINGS,
        milestones=_milestones(bird.all_milestones),  # type: ignore[attr-defined]
        weaning_fed_at=weaning_fed[0].until or weaning_fed[0].at if weaning_fed else None,
        hatched_on=bird.hatched_on,
        hatched_at=bird.hatched_at,
        age_estimate=_age_told(bird),
        strain=bird.strain,
        adult_mass_g=bird.adult_mass_g,
    )


def _weighing(row: Weighing) -> WeighingKept:
    return WeighingKept(
        uid=row.uid,
        at=row.at,
        mass_g=float(row.mass_g),
        context=Context(row.context),
        scale_step_g=None if row.scale_step_g is None else float(row.scale_step_g),
        state=WeighingState(row.state),
    )


def _milestones(rows: Iterable[Milestone]) -> tuple[MilestoneKept, ...]:
    return tuple(MilestoneKept(key=MilestoneKey(row.key), seen=row.seen, observed_at=row.observed_at) for row in rows)


def _age_told(bird: Bird) -> AgeTold | None:
    """An estimate that came without its spread has the usual one of a day."""
    if bird.age_estimate is None:
        return None
    return msgspec.convert({"sd_days": 1.0, **bird.age_estimate}, AgeTold)
