"""Energy a bird needs: at rest, in the clinic's formula, over the whole rearing, and day by day while it
grows.

Two families stand side by side and are never averaged: the clinical band works on the *current* mass, the
totals of the whole rearing on the *asymptote*. Mixing the two masses up is an error of a factor of two to
ten in a hatchling.

Values marked [MEM] in a docstring are from memory and not confirmed in a text that was read.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from species.biology import growth_forms
from species.biology.bounds import FloatArray, FloatOrArray, positive, scalar_or_array, within
from species.domain.errors import DomainError

KJ_PER_KCAL = 4.184
"""Thermochemical kilocalorie (UCUM ``kcal``). Secondary tables that use 4.1868 read 0.07 % higher."""

THERMONEUTRAL_SHARE = 185.8 / 246.7
"""Energy to fledging in a well-set brooder over that in the field: Savannah sparrow, laboratory 185.8 kJ
and field 246.7 kJ (Williams & Prints 1986; energetics-and-mixing.md sections 1.5 and 1.8). About 0.75."""

MAINTENANCE_EXPONENT = 0.72
"""Power of mass in the maintenance of a growing bird (energetics-and-mixing.md section 1.8)."""

SYNTHESIS_EFFICIENCY = 0.75
"""Share of the energy for growth that ends up as tissue (Ricklefs 1974 [MEM]; larids give 20/27 = 0.74,
Drent et al. 1992; energetics-and-mixing.md section 1.6)."""

CLINICAL_ACTIVE_FACTOR = 1.5
CLINICAL_GROWTH_FACTORS = (1.5, 3.0)
"""Growth over *active* maintenance (QUE89), so 2.25 to 4.5 over basal; applying them to basal halves the
food."""

GREATEST_MATURITY = 2.0
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(96)


def _mass_kg(mass_g: ArrayLike) -> FloatArray:
    return np.asarray(positive(mass_g, "mass_g") / 1000.0)


def lasiewski_dawson_basal_kj_per_day(mass_g: ArrayLike, *, passerine: bool) -> FloatOrArray:
    """Basal metabolic rate of an adult by Lasiewski & Dawson, in kJ/d.

    Parameters
    ----------
    mass_g
        Mass in g, any shape.
    passerine
        Which of the two published lines.

    Raises
    ------
    DomainError
        If a mass is not a positive number; so for every function of a mass here.

    Notes
    -----
    129 W^0.724 kcal/d (passerines), 78.3 W^0.723 (others), W in kg. Lasiewski & Dawson 1967, Condor
    69:13-23, read through Bushuev et al. 2018, Table 1; energetics-and-mixing.md section 1.1. Good to 25 to
    40 % for one species.
    """
    factor, exponent = (129.0, 0.724) if passerine else (78.3, 0.723)
    return scalar_or_array(factor * KJ_PER_KCAL * _mass_kg(mass_g) ** exponent)


def mckechnie_wolf_basal_kj_per_day(mass_g: ArrayLike) -> FloatOrArray:
    """Basal metabolic rate of an adult of any bird by McKechnie & Wolf, in kJ/d.

    Notes
    -----
    log10 BMR (W) = -1.461 + 0.669 log10 m (g); 1 W = 86.4 kJ/d. McKechnie & Wolf 2004, Physiol. Biochem.
    Zool. 77:502-521, conventional regression; energetics-and-mixing.md section 1.1.
    """
    return scalar_or_array(10.0**-1.461 * positive(mass_g, "mass_g") ** 0.669 * 86.4)


def clinical_basal_kj_per_day(mass_g: ArrayLike, passerine: bool) -> FloatOrArray:
    """Basal energy by the clinic's rounded formula, on the current mass, in kJ/d.

    Notes
    -----
    K W^0.75 kcal/d, K = 129 passerine, 78 other, W in kg: QUE89, B&R99; HRB tables B.1 and B.2, pp. 782-783;
    energetics-and-mixing.md section 1.2.
    """
    return scalar_or_array((129.0 if passerine else 78.0) * KJ_PER_KCAL * _mass_kg(mass_g) ** 0.75)


def clinical_maintenance_kj_per_day(mass_g: ArrayLike, passerine: bool) -> FloatOrArray:
    """Maintenance of an active bird by the clinic's formula, 1.5 times basal, in kJ/d.

    Notes
    -----
    QUE89; HRB tables B.1 and B.2; energetics-and-mixing.md section 1.2.
    """
    return CLINICAL_ACTIVE_FACTOR * clinical_basal_kj_per_day(mass_g, passerine)


def clinical_growth_band_kj_per_day(mass_g: ArrayLike, passerine: bool) -> tuple[FloatOrArray, FloatOrArray]:
    """Need of a growing bird by the clinic's formula: low and high, in kJ/d.

    Returns
    -------
    tuple
        2.25 and 4.5 times basal, each of the shape of ``mass_g``.

    Notes
    -----
    Growth is 1.5 to 3.0 times *active* maintenance: QUE89; HRB tables B.1 and B.2, pp. 782-783;
    energetics-and-mixing.md section 2 and trap 3 of section 6.
    """
    maintenance = clinical_maintenance_kj_per_day(mass_g, passerine)
    low, high = CLINICAL_GROWTH_FACTORS
    return low * maintenance, high * maintenance


def nagy_field_kj_per_day(mass_g: ArrayLike) -> FloatOrArray:
    """Field metabolic rate of a free-living adult, in kJ/d: a ceiling to hold results against, not a
    chick's need.

    Notes
    -----
    10.5 m^0.681, m in g. Nagy 2005, J. Exp. Biol. 208:1621-1625; energetics-and-mixing.md section 1.3.
    """
    return scalar_or_array(10.5 * positive(mass_g, "mass_g") ** 0.681)


def nestling_field_kj_per_day(asymptote_g: ArrayLike) -> FloatOrArray:
    """Daily energy spent by an altricial nestling near full size in the wild, in kJ/d.

    Notes
    -----
    4.58 M^0.76, M near the asymptote in g; doubly labelled water, 11 species; energetics-and-mixing.md
    section 1.3.
    """
    return scalar_or_array(4.58 * positive(asymptote_g, "asymptote_g") ** 0.76)


def weathers_total_kj(asymptote_g: ArrayLike, fledging_days: ArrayLike) -> FloatOrArray:
    """Energy metabolised by a wild nestling from hatching to fledging, in kJ.

    Parameters
    ----------
    asymptote_g
        Peak nestling mass M, not the current mass.
    fledging_days
        Age at fledging.

    Notes
    -----
    6.65 M^0.852 t^0.710. Weathers 1992, Ibis 134:142-153 [MEM]; corroborated by inverting published totals
    and peaks of cormorants (C12). Metabolised energy: do not divide by assimilation again. Scatter of
    species is 20 to 30 %. energetics-and-mixing.md section 1.4.
    """
    return scalar_or_array(
        6.65 * positive(asymptote_g, "asymptote_g") ** 0.852 * positive(fledging_days, "fledging_days") ** 0.710
    )


def weathers_peak_kj_per_day(asymptote_g: ArrayLike, fledging_days: ArrayLike) -> FloatOrArray:
    """Greatest daily energy of a wild nestling, in kJ/d; arguments as :func:`weathers_total_kj`.

    Notes
    -----
    11.69 M^0.9082 t^-0.428. Weathers 1992 [MEM], corroborated as the total; energetics-and-mixing.md
    section 1.4.
    """
    return scalar_or_array(
        11.69 * positive(asymptote_g, "asymptote_g") ** 0.9082 * positive(fledging_days, "fledging_days") ** -0.428
    )


def drent_total_kj(asymptote_g: ArrayLike) -> FloatOrArray:
    """Energy metabolised to fledging from the peak mass alone, in kJ.

    Notes
    -----
    35.15 M^1.015, from eight studies of gulls and terns, valid 100 to 1000 g. Drent, Klaassen & Zwaan 1992,
    Ardea 80:5-17. A repository copy prints 35.14 M^1.0105 (2 to 3 % less): one equation, read as within 5 %.
    energetics-and-mixing.md section 1.4.

    Raises
    ------
    DomainError
        If a mass is outside 100 to 1000 g.
    """
    return scalar_or_array(35.15 * within(asymptote_g, "asymptote_g", low=100.0, high=1000.0) ** 1.015)


def marginal_tissue_kj_per_g(maturity: ArrayLike) -> FloatOrArray:
    """Energy stored in the next gram of body mass, in kJ per g of wet mass.

    Parameters
    ----------
    maturity
        u = m / A, from 0 to 2 (a fat bird stands above its asymptote).

    Notes
    -----
    The whole body holds D(u) = 3.51 + 4.82 u kJ/g (Weathers 1996 [MEM]), so E = m D(m/A) and the *marginal*
    cost is dE/dm = 3.51 + 9.64 u. Taking D(u) for it undercounts late growth. energetics-and-mixing.md
    section 1.6.
    """
    return scalar_or_array(3.51 + 9.64 * within(maturity, "maturity", low=0.0, high=GREATEST_MATURITY))


def growth_cost_kj_per_day(mass_g: ArrayLike, gain_g_per_day: ArrayLike, asymptote_g: ArrayLike) -> FloatOrArray:
    """Energy for growth with its synthesis, in kJ/d.

    Parameters
    ----------
    mass_g, asymptote_g
        Current mass and asymptote; at most twice the asymptote.
    gain_g_per_day
        Gain, zero or more. A loss has no cost of growth and is refused.

    Notes
    -----
    P = (3.51 + 9.64 m/A) (dm/dt) / 0.75. energetics-and-mixing.md sections 1.6 and 1.8.
    """
    gain = within(gain_g_per_day, "gain_g_per_day", low=0.0)
    return scalar_or_array(marginal_tissue_kj_per_g(_maturity(mass_g, asymptote_g)) * gain / SYNTHESIS_EFFICIENCY)


def maintenance_coefficient(
    form: str,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    fledging_days: ArrayLike,
    total_kj: ArrayLike,
    share: ArrayLike = THERMONEUTRAL_SHARE,
) -> FloatOrArray:
    """Coefficient c of maintenance, such that need over the whole rearing adds up to a share of the wild
    total.

    Parameters
    ----------
    form, asymptote_g, rate_per_day, inflection_days
        Growth curve.
    fledging_days
        End of the rearing; it begins at hatching.
    total_kj
        Energy metabolised in the field from hatching to fledging, say :func:`weathers_total_kj`.
    share
        Part of it that a bird in a brooder needs; 1 gives the field's.

    Returns
    -------
    float or numpy.ndarray
        c in kJ/(d g^0.72).

    Raises
    ------
    DomainError
        If the total does not even pay for the tissue, so that nothing is left for maintenance.

    Notes
    -----
    ME(t) = c m^0.72 + P(t); c = (share TME - int P dt) / int m^0.72 dt over 0..t_fl. The cost of growth
    integrates exactly, since P is dE/dt / 0.75 with E = m (3.51 + 4.82 m/A); maintenance by Gauss-Legendre
    quadrature with 96 nodes. energetics-and-mixing.md section 1.8 with a = 0.
    """
    asymptote = positive(asymptote_g, "asymptote_g")
    end = positive(fledging_days, "fledging_days")
    available = positive(total_kj, "total_kj") * positive(share, "share", high=1.0)
    first = growth_forms.mass_g(form, np.zeros_like(end), asymptote, rate_per_day, inflection_days)
    last = growth_forms.mass_g(form, end, asymptote, rate_per_day, inflection_days)
    tissue = (
        last * (3.51 + 4.82 * last / asymptote) - first * (3.51 + 4.82 * first / asymptote)
    ) / SYNTHESIS_EFFICIENCY
    left = np.asarray(available - tissue)
    if np.any(left <= 0.0):
        raise DomainError(
            "total_kj does not pay for the tissue that this curve grows.",
            field="total_kj",
            code="energy_too_small",
            remedy=f"It must exceed {float(np.max(tissue / np.asarray(share))):.4g} kJ.",
        )
    ages = end[..., np.newaxis] * (_NODES + 1.0) / 2.0
    masses = growth_forms.mass_g(
        form,
        ages,
        asymptote[..., np.newaxis],
        np.asarray(rate_per_day, dtype=np.float64)[..., np.newaxis],
        np.asarray(inflection_days, dtype=np.float64)[..., np.newaxis],
    )
    integral = end / 2.0 * np.sum(_WEIGHTS * np.asarray(masses) ** MAINTENANCE_EXPONENT, axis=-1)
    return scalar_or_array(left / integral)


def need_kj_per_day(
    mass_g: ArrayLike, gain_g_per_day: ArrayLike, asymptote_g: ArrayLike, coefficient: ArrayLike
) -> FloatOrArray:
    """Energy a growing bird needs in a day: maintenance and growth, in kJ/d of metabolisable energy.

    Parameters
    ----------
    mass_g, gain_g_per_day, asymptote_g
        As in :func:`growth_cost_kj_per_day`.
    coefficient
        c of :func:`maintenance_coefficient`.

    Notes
    -----
    ME = c m^0.72 + (3.51 + 9.64 m/A) (dm/dt) / 0.75. energetics-and-mixing.md section 1.8 with a = 0. A
    starting figure: the weight trend decides.
    """
    maintenance = positive(coefficient, "coefficient") * positive(mass_g, "mass_g") ** MAINTENANCE_EXPONENT
    return scalar_or_array(maintenance + growth_cost_kj_per_day(mass_g, gain_g_per_day, asymptote_g))


def _maturity(mass_g: ArrayLike, asymptote_g: ArrayLike) -> FloatArray:
    maturity = np.asarray(positive(mass_g, "mass_g") / positive(asymptote_g, "asymptote_g"))
    if np.any(maturity > GREATEST_MATURITY):
        raise DomainError(
            "mass_g is more than twice the asymptote, beyond what tissue energy is known for.",
            field="mass_g",
            code="out_of_domain",
            remedy="Check the weight and the species.",
        )
    return maturity
