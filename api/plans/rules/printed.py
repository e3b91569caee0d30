"""Values that a plan takes from the profile as they are printed: named as rules, so that their sources are shown."""

from typing import Any

from api.web.rules.ledger import Ledger
from species.domain.sourcing import Band, Quantity


def low(*, low: float, usual: float | None, high: float) -> float:
    """Low end of a printed band."""
    return low


def high(*, low: float, usual: float | None, high: float) -> float:
    """High end of a printed band."""
    return high


def middle(*, low: float, usual: float | None, high: float) -> float:
    """The usual value of a printed band, or half-way between its ends; to 0.1."""
    return round(usual if usual is not None else (low + high) / 2, 1)


def value(*, value: float) -> float:
    """A printed value."""
    return value


def band_entry(ledger: Ledger, field: str, rule: Any, band: Band | None) -> float | None:
    """Take one of :func:`low`, :func:`middle`, :func:`high` of a band for a field; null where nothing is printed."""
    if band is None:
        return None
    taken: float = ledger.derive(field, rule, sources=band.sources, low=band.low, usual=band.usual, high=band.high)
    return taken


def quantity_entry(ledger: Ledger, field: str, quantity: Quantity) -> float:
    """Take a printed value for a field."""
    return ledger.derive(field, value, sources=quantity.sources, value=quantity.value)
