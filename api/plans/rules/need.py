"""How much energy the bird needs in a day: from its growth curve, beside the clinical band, never averaged."""

from typing import Any

from api.plans.rules.plan import Age, Energy, Mass
from api.web.rules.ledger import Ledger
from species.biology import energy, growth_forms
from species.domain.growth_curve import GrowthCurve
from species.domain.profile import Profile

#: Nestling allometries miss single species by 20 to 30 % (energetics-and-mixing.md section 1.8); the wider end is
#: taken as the 90 % interval.
SCATTER_FRACTION = 0.30


def need_kj_per_day(
    *,
    mass_g: float,
    age_days: float,
    form: str,
    asymptote_g: float,
    rate_per_day: float,
    inflection_days: float,
    fledging_days: float,
    equation: str,
    thermoneutral_share: float,
) -> float:
    """Energy need of one bird in a well-set brooder.

    Parameters
    ----------
    mass_g, age_days
        The bird.
    form, asymptote_g, rate_per_day, inflection_days, fledging_days
        Its curve and the end of rearing.
    equation
        ``weathers`` or ``drent``: energy of the whole rearing in the wild.
    thermoneutral_share
        Share of it that a chick kept warm needs.

    Returns
    -------
    float
        kJ/d of metabolisable energy, to 0.1.

    Notes
    -----
    Maintenance c m^0.72 with c such that need over the rearing adds up to share x total, and growth at the tissue's
    marginal energy over 0.75. The bird's gain is its own mass times the curve's relative gain, so a thin bird is not
    charged for the growth of a fat one. The totals take the peak mass of the nestling, which is the curve's mass at
    fledging: doves leave long before they reach their asymptote. energetics-and-mixing.md section 1.8, checks C10,
    C13, C18.
    """
    fledging_g = growth_forms.mass_g(form, fledging_days, asymptote_g, rate_per_day, inflection_days)
    total = (
        energy.weathers_total_kj(fledging_g, fledging_days)
        if equation == "weathers"
        else energy.drent_total_kj(fledging_g)
    )
    coefficient = energy.maintenance_coefficient(
        form, asymptote_g, rate_per_day, inflection_days, fledging_days, total, thermoneutral_share
    )
    expected = growth_forms.mass_g(form, age_days, asymptote_g, rate_per_day, inflection_days)
    gain = growth_forms.gain_g_per_day(form, age_days, asymptote_g, rate_per_day, inflection_days)
    own_gain = float(gain) * mass_g / float(expected)
    return round(float(energy.need_kj_per_day(mass_g, own_gain, asymptote_g, coefficient)), 1)


def need_bound_kj_per_day(*, need_kj_per_day: float, scatter_fraction: float) -> float:
    """An end of the 90 % interval of the need."""
    return round(need_kj_per_day * (1.0 + scatter_fraction), 1)


def clinical_low_kj_per_day(*, mass_g: float, passerine: bool) -> float:
    """Low end of the clinical growth band, 1.5 x 1.5 x K W^0.75 (QUE89; HRB pp.782-783)."""
    return round(float(energy.clinical_growth_band_kj_per_day(mass_g, passerine)[0]), 1)


def clinical_high_kj_per_day(*, mass_g: float, passerine: bool) -> float:
    """High end of the clinical growth band, 3.0 x 1.5 x K W^0.75 (QUE89; HRB pp.782-783)."""
    return round(float(energy.clinical_growth_band_kj_per_day(mass_g, passerine)[1]), 1)


def target_kj_per_day(*, need_kj_per_day: float, clinical_low_kj_per_day: float) -> float:
    """Energy a day's food should bring: the need, but not less than the low end of the clinical band.

    The two methods differ by design and are not averaged; of the two the one that does not starve the bird is fed
    for, and the scale decides.
    """
    return max(need_kj_per_day, clinical_low_kj_per_day)


def energy_read(profile: Profile, curve: GrowthCurve | None, age: Age, mass: Mass, ledger: Ledger) -> Energy:
    """Read the need; ``planned_kj_per_day`` is filled when a feed is planned.

    Null for a bird of more than twice the curve's asymptote: what its tissue costs is not known there.
    """
    if mass.value_g is None:
        return Energy(
            need_kj_per_day=None,
            low_kj_per_day=None,
            high_kj_per_day=None,
            clinical_low_kj_per_day=None,
            clinical_high_kj_per_day=None,
            planned_kj_per_day=None,
        )
    clinical: dict[str, Any] = {"mass_g": mass.value_g, "passerine": profile.passerine}
    clinical_sources = ("QUE89 growth factor", "HRB pp.782-783")
    need = low = high = None
    rearing, fledging = profile.rearing_energy, profile.fledging_days
    grown_past_it = curve is not None and mass.value_g > energy.GREATEST_MATURITY * curve.asymptote_g.value
    if curve is not None and rearing is not None and fledging is not None and not grown_past_it:
        sources = curve.asymptote_g.sources + rearing.thermoneutral_share.sources + fledging.sources
        need = ledger.derive(
            "/energy/need_kj_per_day",
            need_kj_per_day,
            sources=sources,
            mass_g=mass.value_g,
            age_days=age.days,
            form=curve.form.value,
            asymptote_g=curve.asymptote_g.value,
            rate_per_day=curve.rate_per_day.value,
            inflection_days=curve.inflection_days.value,
            fledging_days=fledging.middle,
            equation=rearing.equation,
            thermoneutral_share=rearing.thermoneutral_share.value,
        )
        low, high = (
            ledger.derive(
                f"/energy/{end}_kj_per_day",
                need_bound_kj_per_day,
                sources=sources,
                need_kj_per_day=need,
                scatter_fraction=sign * SCATTER_FRACTION,
            )
            for end, sign in (("low", -1), ("high", 1))
        )
    return Energy(
        need_kj_per_day=need,
        low_kj_per_day=low,
        high_kj_per_day=high,
        clinical_low_kj_per_day=ledger.derive(
            "/energy/clinical_low_kj_per_day", clinical_low_kj_per_day, sources=clinical_sources, **clinical
        ),
        clinical_high_kj_per_day=ledger.derive(
            "/energy/clinical_high_kj_per_day", clinical_high_kj_per_day, sources=clinical_sources, **clinical
        ),
        planned_kj_per_day=None,
    )
