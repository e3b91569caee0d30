"""Birds: admitted, corrected, moved between sites, removed where they should never have been."""

from collections.abc import Iterable, Mapping
from copy import copy
from datetime import datetime
from typing import Any
from uuid import UUID

from api.birds.models import Bird
from api.birds.rules.lifetime import refuse_instant, refuse_records_outside, refuse_unborn
from api.birds.rules.words import Certainty
from api.birds.services.holding import by, lifetime, records_of, span_of_records
from api.birds.services.records import about
from api.catalog.rules.strain import refuse_other_adult_mass
from api.catalog.selectors import species_known
from api.kitchen.models import Formula
from api.kitchen.selectors import refuse_unknown_formula
from api.networks import selectors as networks
from api.networks.models import Site
from api.networks.rules.roles import Caller
from api.outbox.services import changed, left_site, record_change, record_create, record_remove, unit_of_work
from api.tenancy.models import plain
from api.web import clock
from species.domain.errors import ConflictError, DomainError
from species.selectors import RenamedSpecies, profile_get

#: Each group tells one thing, in ways that exclude each other: a correction that gives one takes the others back.
ALTERNATIVES = (("species", "unlisted_species"), ("hatched_on", "hatched_at", "age_estimate"))
INTAKE = ("at", "reason", "located_at", "finder_fed")
#: What bounds a bird's records in time.
BOUNDS = ("hatched_on", "hatched_at", "age_estimate", "intake_at")


def bird_admit(
    *,
    caller: Caller,
    site_id: UUID,
    name: str,
    uid: UUID | None = None,
    species_certainty: str = Certainty.CERTAIN,
    intake: Mapping[str, Any] | None = None,
    **fields: Any,
) -> tuple[Bird, bool]:
    """Take a bird into care; True where it is new.

    Parameters
    ----------
    site_id
        Public id of the site where it is fed.
    intake
        ``at`` (now where it is missing), ``reason``, ``located_at``, ``finder_fed``.
    fields
        Of :class:`api.birds.models.Bird`, by their names.

    Raises
    ------
    DomainError
        ``unknown_site``, ``unknown_species``, ``species_missing``, ``unknown_formula``, or of what cannot be.
    ConflictError
        Of an id that is taken.
    """
    sent = {**fields, "site": site_id, "name": name, "species_certainty": species_certainty, "intake": intake}
    with unit_of_work(by(caller)):
        told = {"at": clock.now(), **(intake or {})}
        values = _stored({**fields, "name": name, "species_certainty": species_certainty, "intake": told})
        values["site"] = _site_held(caller, site_id)
        bird = Bird(**values)
        values["species"] = _species_today(bird)
        refuse_unknown_formula(bird.formula_key)
        refuse_unborn(lifetime(bird), now=clock.now())
        bird, new = record_create(Bird, uid=uid, sent=sent, **values)
        if new:
            changed(bird, event="bird.admitted", site_id=bird.site.uid, data=about(bird))
    return bird, new


def bird_change(bird: Bird, *, caller: Caller, **fields: Any) -> None:
    """Correct a bird, whose row the caller holds locked; fields as in :func:`bird_admit`, none to take one back.

    Raises
    ------
    DomainError
        As :func:`bird_admit`; ``records_before`` where a record would lie before its life.
    """
    values = _stored(fields)
    for group in ALTERNATIVES:
        if any(values.get(name) is not None for name in group):
            values |= {name: None for name in group if name not in fields}
    draft = copy(bird)
    for name, value in values.items():
        setattr(draft, name, value)
    with unit_of_work(by(caller)):
        if values.keys() & {"species", "unlisted_species", "species_certainty", "adult_mass_g"}:
            draft.species = _species_today(draft)
            values["species"] = draft.species
        if "formula_key" in values:
            refuse_unknown_formula(draft.formula_key)
        if bounds := [name for name in BOUNDS if name in values]:
            _refuse_other_life(draft, bounds)
        if record_change(bird, **values):
            changed(bird, event="bird.updated", site_id=bird.site.uid, data=about(bird))


def bird_move(bird: Bird, *, caller: Caller, site_id: UUID, at: datetime | None = None) -> None:
    """Bring a bird, whose row the caller holds locked, to another site, with all that was recorded of it.

    Parameters
    ----------
    at
        When it was moved; now where it is missing.

    Raises
    ------
    DomainError
        ``unknown_site``, or of an instant at which it cannot have been moved.
    ConflictError
        ``bird_left_care``.
    """
    with unit_of_work(by(caller)):
        moved_at = at or clock.now()
        refuse_instant(moved_at, bird=lifetime(bird), what="The move", field="/at", now=clock.now())
        before, site = bird.site, _site_held(caller, site_id)
        if not record_change(bird, site=site):
            return
        told = {**about(bird), "left_site_id": str(before.uid), "at": plain(moved_at)}
        changed(bird, event="bird.moved", site_id=site.uid, data=told)
        left_site([bird, *records_of(bird)], left=before.uid, joined=site.uid)


def bird_remove(bird: Bird, *, caller: Caller) -> None:
    """Take out a bird that should never have been, whose row the caller holds locked.

    Raises
    ------
    ConflictError
        ``bird_has_records``: it has been, then.
    """
    if span_of_records(bird) != (None, None):
        raise ConflictError(
            "Something is recorded of this bird.",
            code="bird_has_records",
            remedy="PUT its outcome where it has left care; where its records are another bird's, give them to that "
            "one by PATCH of bird_id, or remove them first.",
        )
    with unit_of_work(by(caller)):
        record_remove(bird, event="bird.removed", site_id=bird.site.uid, data=about(bird))


def sites_hold(caller: Caller, site_ids: Iterable[UUID]) -> None:
    """Lock those of the sites that the caller sees, in one order."""
    list(_held(caller, site_ids))


def guard_site(site: Site) -> None:
    """Keep a site, whose row the caller holds locked, while birds are fed there."""
    count = Bird.objects.filter(site=site, outcome_at__isnull=True).count()
    if count:
        raise ConflictError(
            f"Birds in care are at this site: {count}.",
            code="birds_in_care",
            remedy="Move them, or record how they left care, and remove the site then.",
        )


def guard_formula(formula: Formula) -> None:
    """Keep a formula, whose row the caller holds locked, while birds in care are fed with it."""
    count = Bird.objects.filter(formula_key=formula.key, outcome_at__isnull=True).count()
    if count:
        raise ConflictError(
            f"Birds in care are fed with this formula: {count}.",
            code="formula_in_use",
            remedy="Give them another formula_key, and remove it then.",
        )


def _site_held(caller: Caller, site_id: UUID) -> Site:
    site: Site | None = _held(caller, [site_id]).first()
    if site is None:
        raise DomainError(
            "There is no site of this id.",
            field="/site_id",
            code="unknown_site",
            remedy="GET /api/v1/sites lists those there are.",
        )
    return site


def _held(caller: Caller, site_ids: Iterable[UUID]) -> Any:
    found = networks.sites(caller).prefetch_related(None).filter(uid__in=set(site_ids))
    return found.order_by("row").select_for_update(of=("self",), no_key=True)


def _stored(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Fields as they are told, by the names and in the values of the row's columns."""
    values = dict(fields)
    intake = values.pop("intake", None) or {}
    values |= {f"intake_{part}": intake[part] if part == "at" else intake[part] or "" for part in intake}
    if values.get("age_estimate") is not None:
        values["age_estimate"] = plain(values["age_estimate"])
    return values


def _species_today(bird: Bird) -> str | None:
    """Today's key of a bird's species, once it is known that there is one, or what is told of it can be true."""
    key = bird.species
    if key is None and bird.unlisted_species is None:
        if bird.species_certainty != Certainty.UNKNOWN:
            raise DomainError(
                "The species is missing.",
                field="/species",
                code="species_missing",
                remedy="Give species, a key that GET /api/v1/species lists, or unlisted_species; or say that "
                "species_certainty is unknown.",
            )
        return None
    if key is not None:
        try:
            profile_get(key)
        except RenamedSpecies as renamed:
            key = renamed.new_key
    known, _ = species_known(key, bird.unlisted_species)
    refuse_other_adult_mass(adult_mass_g=bird.adult_mass_g, usual_g=known.profile.masses.adult_g.value)
    return key


def _refuse_other_life(draft: Bird, corrected: list[str]) -> None:
    """Refuse times of hatching or intake that do not go together, or leave a record outside."""
    life = lifetime(draft)
    refuse_unborn(life, now=clock.now())
    given = next((name for name in corrected if getattr(draft, name) is not None), corrected[0])
    first_at, last_at = span_of_records(draft)
    field = "/intake/at" if given == "intake_at" else f"/{given}"
    refuse_records_outside(life, first_at=first_at, last_at=last_at, field=field)
