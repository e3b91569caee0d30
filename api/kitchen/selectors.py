"""Reads of kitchens and formulas."""

from collections.abc import Iterable

from django.db.models import QuerySet

from api.kitchen.models import Formula, Kitchen
from api.kitchen.rules.powders import Powder, PowderComposition, powder_told
from api.networks.models import Site
from species.domain.errors import DomainError
from species.selectors import formula_get


def formulas() -> QuerySet[Formula]:
    """The network's own formulas."""
    return Formula.objects.all()


def kitchen_of(site: Site) -> Kitchen:
    """The kitchen of a site; where nothing is told of it yet, an empty one that is not in the database."""
    told = Kitchen.objects.select_related("site").filter(site=site).first()
    return told or Kitchen(site=site, uid=site.uid, version=0, recorded_at=None, changed_at=None)  # type: ignore[misc]


def formula_keys_known(key: str) -> bool:
    """Whether the network, or the catalogue, has a formula of this key."""
    if Formula.objects.filter(key=key).exists():
        return True
    try:
        formula_get(key)
    except DomainError:
        return False
    return True


def refuse_unknown_formula(key: str | None) -> None:
    """Refuse a ``formula_key`` that neither the network nor the catalogue has; none is fine.

    Raises
    ------
    DomainError
        ``unknown_formula``.
    """
    if key is not None and not formula_keys_known(key):
        raise DomainError(
            f"Neither the network nor the catalogue has a formula {key!r}.",
            field="/formula_key",
            code="unknown_formula",
            remedy="GET /api/v1/formulas lists the network's.",
        )


def own_powders(keys: Iterable[str]) -> dict[str, Powder]:
    """The network's own powders of these keys; a key that is missing may be one of the catalogue's. One query."""
    return {formula.key: _powder(formula) for formula in Formula.objects.filter(key__in=set(keys))}


def _powder(formula: Formula) -> Powder:
    told = formula.composition
    return powder_told(
        dry_matter_fraction=formula.dry_matter_fraction,
        energy_kj_per_g_dm=formula.energy_kj_per_g_dm,
        bulk_density_g_per_ml=formula.bulk_density_g_per_ml,
        composition=None if told is None else PowderComposition(**told),
    )
