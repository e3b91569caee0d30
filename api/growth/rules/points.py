"""Every weighing of an answer: among its species, after its own record, and since the weighing before."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import msgspec
import numpy as np

from api.growth.rules import among, individual
from api.growth.rules.among import Species
from api.growth.rules.individual import OwnCurve, shown_g
from api.growth.rules.mornings import alike
from api.growth.rules.series import Placed
from api.web.rules.ledger import Ledger
from species.biology.population import HIGH_CENTILE, LOW_CENTILE
from species.domain.record import Record

#: Weighings nearer to each other than this say little of a day's gain.
A_DAY_AT_LEAST = 0.6


class PointRead(Record, frozen=True, kw_only=True):
    """One weighing among its species and after its own record."""

    at: datetime
    age_days: float
    mass_g: float
    expected_g: float
    low_g: float
    high_g: float
    centile: float | None
    z: float | None
    conditional_z: float | None
    conditional_expected_g: float | None
    gain_g_per_day: float | None
    expected_gain_g_per_day: float | None
    state: str
    index: int


def points_read(
    series: Sequence[Placed], own: OwnCurve, species: Species, sources: tuple[str, ...], ledger: Ledger
) -> tuple[PointRead, ...]:
    """Read every weighing; the reasons are given for the last one that was accepted, the rest comes alike."""
    ages, masses = np.array(own.record.age_days), np.array(own.record.mass_g)
    middle = species.middle_g(ages)
    low, high = species.at_centile_g(ages, LOW_CENTILE), species.at_centile_g(ages, HIGH_CENTILE)
    z, centile = species.z(ages, masses), species.centile(ages, masses)
    expected = individual.expected_of_each(own)
    by_own, by_own_z = expected.mass_g[0], expected.z(masses)[0]
    read = []
    for n, place in enumerate(series):
        used = place.state == "accepted"
        before = _before(series, n) if used else None
        read.append(
            PointRead(
                at=place.weighing.at,
                age_days=round(place.age_days, 2),
                mass_g=place.weighing.mass_g,
                expected_g=shown_g(float(middle[n])),
                low_g=shown_g(float(low[n])),
                high_g=shown_g(float(high[n])),
                centile=round(float(centile[n]), 1) if used else None,
                z=round(float(z[n]), 2) if used else None,
                conditional_z=round(float(by_own_z[n]), 2) if used else None,
                conditional_expected_g=shown_g(float(by_own[n])) if used else None,
                gain_g_per_day=_per_day(place.weighing.mass_g, place, before),
                expected_gain_g_per_day=_per_day(float(by_own[n]), place, before),
                state=place.state,
                index=place.weighing.index,
            )
        )
    last = max((n for n, place in enumerate(series) if place.state == "accepted"), default=None)
    if last is not None:
        _reasons(last, own, species, sources, ledger)
    return tuple(read)


def _before(series: Sequence[Placed], n: int) -> Placed | None:
    """The weighing that a gain is reckoned from: made alike, the last that is most of a day away, or any earlier."""
    this = series[n]
    earlier = [
        place
        for place in series[:n]
        if place.state == "accepted"
        and place.age_days < this.age_days
        and alike(place.weighing.context, this.weighing.context)
    ]
    a_day = [place for place in earlier if this.age_days - place.age_days >= A_DAY_AT_LEAST]
    found = a_day or earlier
    return found[-1] if found else None


def _per_day(mass_g: float, this: Placed, before: Placed | None) -> float | None:
    if before is None:
        return None
    return shown_g((mass_g - before.weighing.mass_g) / (this.age_days - before.age_days))


def _reasons(place: int, own: OwnCurve, species: Species, sources: tuple[str, ...], ledger: Ledger) -> None:
    age_days, mass_g = own.record.age_days[place], own.record.mass_g[place]
    held: dict[str, Any] = {"age_days": age_days, "species": msgspec.to_builtins(species)}
    at = f"/points/{place}"
    ledger.derive(f"{at}/expected_g", among.expected_g, sources=sources, **held)
    for end, centile in (("low", LOW_CENTILE), ("high", HIGH_CENTILE)):
        ledger.derive(f"{at}/{end}_g", among.at_centile_g, sources=sources, centile=centile, **held)
    ledger.derive(f"{at}/centile", among.centile_of_mass, sources=sources, mass_g=mass_g, **held)
    ledger.derive(f"{at}/z", among.z_of_mass, sources=sources, mass_g=mass_g, **held)
    for name in ("conditional_expected_g", "conditional_z"):
        ledger.derive(f"{at}/{name}", getattr(individual, name), sources=sources, place=place, **own.plain())
