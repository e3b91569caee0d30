"""Reads of kitchens and formulas."""

from api.kitchen.models import Formula
from species.domain.errors import DomainError
from species.selectors import formula_get


def formula_keys_known(key: str) -> bool:
    """Whether the network, or the catalogue, has a formula of this key."""
    if Formula.objects.filter(key=key).exists():
        return True
    try:
        formula_get(key)
    except DomainError:
        return False
    return True
