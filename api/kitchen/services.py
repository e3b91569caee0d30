"""Writes of the kitchen: a network's formulas, and what each site mixes with."""

from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from api.kitchen.models import Formula, Kitchen
from api.kitchen.rules.limits import check_waters
from api.kitchen.rules.powders import PowderComposition, powder_kept
from api.kitchen.selectors import kitchen_of, refuse_unknown_formula
from api.networks.models import Site
from api.outbox.services import changed, record_change, record_create, record_remove, unit_of_work
from species.domain.errors import ConflictError, DomainError
from species.selectors import formula_get

LABEL = ("dry_matter_fraction", "energy_kj_per_g_dm", "bulk_density_g_per_ml", "composition")
_SHOWN_TO = 4  # decimals of a dry matter that is reckoned: labels give two


def formula_create(
    *, key: str, name: str, uid: UUID | None = None, note: str = "", **label: Any
) -> tuple[Formula, bool]:
    """Add a powder to the network's own; True where it is new.

    Parameters
    ----------
    label
        What the bag says, by the names in ``LABEL``; dry matter is completed from the composition.

    Raises
    ------
    DomainError
        Of a label that does not add up, or tells too little for a plan.
    ConflictError
        Of a key or id that is taken.
    """
    told = {name: label.get(name) for name in LABEL}
    with unit_of_work():
        _refuse_catalogue_key(key)
        try:
            with transaction.atomic():
                formula, new = record_create(
                    Formula,
                    uid=uid,
                    sent={"key": key, "name": name, "note": note, **told},
                    key=key,
                    name=name,
                    note=note,
                    **_completed(told),
                )
        except IntegrityError:
            if not Formula.objects.filter(key=key).exists():
                raise
            raise _key_taken(key, "of the network") from None
        if new:
            changed(formula)
    return formula, new


def formula_change(formula: Formula, **fields: Any) -> None:
    """Correct a formula, whose row the caller holds locked; its key stays. Raises as :func:`formula_create`."""
    if fields.keys() & set(LABEL):
        fields |= _completed({name: fields.get(name, getattr(formula, name)) for name in LABEL})
    with unit_of_work():
        if record_change(formula, **fields):
            changed(formula)


def formula_remove(formula: Formula) -> None:
    """Take a formula, whose row the caller holds locked, out of the list.

    Raises
    ------
    ConflictError
        While a kitchen, or something in a higher room, names it.
    """
    with unit_of_work():
        kitchens = Kitchen.objects.filter(formula_key=formula.key, site__gone_at__isnull=True).count()
        if kitchens:
            raise ConflictError(
                f"Sites mix with this formula: {kitchens}.",
                code="formula_in_use",
                remedy="Give their kitchens another formula_key, and remove it then.",
            )
        record_remove(formula)


def kitchen_put(site: Site, **fields: Any) -> Kitchen:
    """Tell what a site mixes with, all of it; the caller holds the site's row locked.

    Raises
    ------
    DomainError
        Of an unknown formula, or waters that no kitchen has at once.
    """
    told = {name: fields.get(name) for name in Kitchen.TOLD if name != "site_id"}
    if told["vessel"] is not None:
        told["vessel"] = {"temperature_c": None, **told["vessel"]}
    check_waters(**{name: told[name] for name in ("hot_water_c", "cool_water_c", "altitude_m")})
    with unit_of_work():
        # Held, so that it is not removed while a kitchen takes it up.
        list(Formula.objects.filter(key=told["formula_key"]).select_for_update(no_key=True))
        refuse_unknown_formula(told["formula_key"])
        kitchen = kitchen_of(site)
        if kitchen.version == 0:
            kitchen, new = record_create(Kitchen, uid=site.uid, site=site, **told)
        else:
            new = record_change(kitchen, **told)
        if new:
            changed(kitchen, site_id=site.uid)
    return kitchen


def _completed(told: dict[str, Any]) -> dict[str, Any]:
    composition = told["composition"]
    powder = powder_kept(**{**told, "composition": None if composition is None else PowderComposition(**composition)})
    return {**told, "dry_matter_fraction": round(powder.dry_matter_fraction, _SHOWN_TO)}


def _refuse_catalogue_key(key: str) -> None:
    try:
        formula_get(key)
    except DomainError:
        return
    raise _key_taken(key, "of the catalogue")


def _key_taken(key: str, of: str) -> ConflictError:
    return ConflictError(
        f"There is a formula {key!r} {of} already.",
        field="/key",
        code="key_taken",
        remedy="Choose another key, or correct that formula.",
    )
