"""Energy against the printed tables, published equations and measured chicks."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import fsolve

from species.biology import energy, growth_forms
from species.domain.errors import DomainError

KCAL = 4.184  # UCUM: cal_th is 4.184 J exactly


@pytest.mark.parametrize(
    ("mass_g", "passerine", "expected_kj"),
    [
        pytest.param(25.0, True, 8.927 * KCAL, id="C01 Lasiewski & Dawson 25 g, kcal"),
        pytest.param(25.0, True, 37.35, id="C01 Lasiewski & Dawson 25 g, kJ"),
        pytest.param(100.0, False, 14.817 * KCAL, id="C02 Lasiewski & Dawson 100 g"),
        pytest.param(500.0, False, 47.437 * KCAL, id="C02 Lasiewski & Dawson 500 g"),
        pytest.param(1000.0, True, 540.10, id="Bushuev 2018 T.1, passerines 1 kg"),
        pytest.param(1000.0, False, 327.83, id="Bushuev 2018 T.1, non-passerines 1 kg"),
    ],
)
def test_lasiewski_dawson(mass_g, passerine, expected_kj):
    basal = energy.lasiewski_dawson_basal_kj_per_day(mass_g, passerine=passerine)
    assert basal == pytest.approx(expected_kj, rel=1e-3)


@pytest.mark.parametrize(
    ("mass_g", "expected_kj"),
    [
        pytest.param(100.0, 65.09, id="C04 McKechnie & Wolf 100 g"),
        pytest.param(100.0, 0.7534 * 86.4, id="C04 McKechnie & Wolf 100 g, W"),
        pytest.param(1000.0, 303.75, id="C04 McKechnie & Wolf 1000 g"),
    ],
)
def test_mckechnie_wolf(mass_g, expected_kj):
    assert energy.mckechnie_wolf_basal_kj_per_day(mass_g) == pytest.approx(expected_kj, rel=1e-3)


@pytest.mark.parametrize(
    ("mass_g", "passerine", "basal", "maintenance", "low", "high", "tolerance"),
    [
        pytest.param(2, True, 1.2, 1.8, 2.7, 5.5, 0.1, id="HRB T.B.1 p.782 2 g"),
        pytest.param(10, True, 4.1, 6.1, 9.2, 18.4, 0.1, id="HRB T.B.1 p.782 10 g"),
        pytest.param(20, True, 6.9, 10.3, 15.4, 30.9, 0.1, id="HRB T.B.1 p.782 20 g"),
        pytest.param(50, True, 13.6, 20.5, 30.7, 61.4, 0.1, id="HRB T.B.1 p.782 50 g"),
        pytest.param(90, True, 21.2, 31.8, 47.7, 95.4, 0.1, id="HRB T.B.1 p.782 90 g"),
        pytest.param(30, False, 5.6, 8.4, 13, 25, 0.5, id="C06 HRB T.B.2 p.783 30 g"),
        pytest.param(50, False, 8.2, 12.4, 19, 37, 0.5, id="HRB T.B.2 p.783 50 g"),
        pytest.param(100, False, 13.9, 20.8, 31, 62, 0.5, id="C06 HRB T.B.2 p.783 100 g"),
        pytest.param(250, False, 27.6, 41.4, 62, 124, 0.5, id="HRB T.B.2 p.783 250 g"),
        pytest.param(450, False, 42.9, 64.3, 96, 193, 0.5, id="C06 HRB T.B.2 p.783 450 g"),
    ],
)
def test_clinical_tables(mass_g, passerine, basal, maintenance, low, high, tolerance):
    rows = (
        energy.clinical_basal_kj_per_day(mass_g, passerine),
        energy.clinical_maintenance_kj_per_day(mass_g, passerine),
    )
    assert [row / KCAL for row in rows] == pytest.approx([basal, maintenance], abs=0.05)
    band = energy.clinical_growth_band_kj_per_day(mass_g, passerine)
    assert [end / KCAL for end in band] == pytest.approx([low, high], abs=tolerance)


def test_swan():
    """B&R99, feeding-practice.md 12.1 no. 10: 4.6 kg, basal 244.998, maintenance 367.5 kcal/d, within 0.5."""
    assert energy.clinical_basal_kj_per_day(4600.0, False) / KCAL == pytest.approx(244.998, abs=0.5)
    assert energy.clinical_maintenance_kj_per_day(4600.0, False) / KCAL == pytest.approx(367.5, abs=0.5)


def test_growing_parrot_of_100_g_at_one_kcal_per_ml():
    """APN with HRB T.B.2, feeding-practice.md 12.1 no. 11: 31 to 62 mL a day, printed to the whole mL."""
    low, high = energy.clinical_growth_band_kj_per_day(100.0, False)
    assert [low / KCAL, high / KCAL] == pytest.approx([31, 62], abs=0.5)


@pytest.mark.parametrize(
    ("mass_g", "passerine", "low_kj", "high_kj", "digits"),
    [
        pytest.param(90.0, False, 121.0, 241.0, 0.5, id="energetics s.6 no.4, 90 g non-passerine"),
        pytest.param(20.0, True, 64.6, 129.0, 0.5, id="energetics s.6 no.4, 20 g passerine"),
    ],
)
def test_two_methods_side_by_side(mass_g, passerine, low_kj, high_kj, digits):
    band = energy.clinical_growth_band_kj_per_day(mass_g, passerine)
    assert band == pytest.approx((low_kj, high_kj), abs=digits)


@pytest.mark.parametrize(
    ("computed", "expected", "tolerance"),
    [
        pytest.param(energy.nagy_field_kj_per_day(100.0), 241.65, 1e-3, id="C08 Nagy 2005 100 g"),
        pytest.param(energy.nestling_field_kj_per_day(500.0), 515.3, 1e-3, id="C09 nestling DEE 500 g"),
        pytest.param(energy.weathers_total_kj(22.4, 20.0), 788.8, 1e-3, id="C10 Weathers 1992 total [MEM]"),
        pytest.param(energy.weathers_peak_kj_per_day(22.4, 20.0), 54.61, 1e-3, id="C10 Weathers peak [MEM]"),
        pytest.param(energy.weathers_total_kj(2322.0, 56.0), 85457, 1e-3, id="energetics s.1.8 heron total"),
        pytest.param(energy.weathers_peak_kj_per_day(2322.0, 56.0), 2379, 1e-3, id="C14 heron peak equation"),
        pytest.param(energy.drent_total_kj(100.0), 3766, 0.03, id="C13 Drent 1992, exponent 1.015"),
        pytest.param(energy.drent_total_kj(100.0), 3688, 0.03, id="C13 Drent 1992, exponent 1.0105"),
        pytest.param(energy.weathers_peak_kj_per_day(2322.0, 56.0), 2027, 0.25, id="C14 heron, Auk 1995"),
        pytest.param(energy.weathers_total_kj(15.5, 8.0), 246.7, 0.30, id="C15 Savannah sparrow DLW 1986"),
        pytest.param(energy.weathers_total_kj(15.5, 8.0), 301, 0.005, id="C15 Savannah sparrow equation"),
        pytest.param(energy.clinical_maintenance_kj_per_day(22.0, True), 46.2, 2e-3, id="C19 canary formula"),
        pytest.param(energy.clinical_maintenance_kj_per_day(22.0, True), 62, 0.40, id="C19 canary measured"),
        pytest.param(
            energy.clinical_maintenance_kj_per_day(258.0, False), 42.4 * KCAL, 2e-3, id="C19 Goffin's formula"
        ),
        pytest.param(energy.clinical_maintenance_kj_per_day(258.0, False), 48 * KCAL, 0.40, id="C19 Goffin's measured"),
    ],
)
def test_equations(computed, expected, tolerance):
    assert computed == pytest.approx(expected, rel=tolerance)


@pytest.mark.parametrize(
    ("peak_kj", "total_kj", "asymptote_g", "fledging_days", "mean_kj", "published_mean_kj"),
    [
        pytest.param(3022, 69_000, 2509, 37.76, 1828, 1800, id="C12 cormorant, Platteeuw 1995, fast"),
        pytest.param(2050, 46_000, 1608, 36.37, 1265, 1300, id="C12 cormorant, Platteeuw 1995, slow"),
    ],
)
def test_cormorant_inversion(peak_kj, total_kj, asymptote_g, fledging_days, mean_kj, published_mean_kj):
    def misses(logs):
        mass, days = np.exp(logs)
        return [
            np.log(energy.weathers_peak_kj_per_day(mass, days) / peak_kj),
            np.log(energy.weathers_total_kj(mass, days) / total_kj),
        ]

    mass, days = np.exp(fsolve(misses, np.log([2000.0, 40.0])))
    assert (mass, days) == pytest.approx((asymptote_g, fledging_days), rel=1e-3)
    assert total_kj / days == pytest.approx(mean_kj, rel=1e-3)
    assert total_kj / days == pytest.approx(published_mean_kj, rel=0.03)


def test_thermoneutral_share_is_the_savannah_sparrows():
    """C16, Williams & Prints 1986: laboratory 110.4 + 75.2, field 171.5 + 75.2 kJ, within 0.2 kJ."""
    laboratory_kj = energy.THERMONEUTRAL_SHARE * (171.5 + 75.2)
    assert laboratory_kj == pytest.approx(110.4 + 75.2, abs=0.2)


@pytest.mark.parametrize(
    ("maturity", "expected_kj"),
    [
        pytest.param(0.0, 3.51, id="energetics s.1.6 [MEM], hatchling"),
        pytest.param(1.0, 13.15, id="energetics s.1.6 [MEM], full grown: 3.51 + 9.64, not 8.33"),
    ],
)
def test_marginal_tissue(maturity, expected_kj):
    assert energy.marginal_tissue_kj_per_g(maturity) == pytest.approx(expected_kj, rel=1e-9)


@given(asymptote=st.floats(5.0, 9000.0), low=st.floats(0.02, 0.9), step=st.floats(0.01, 0.09))
def test_marginal_tissue_adds_up_to_the_bodys_energy(asymptote, low, step):
    """The definition: E = m (3.51 + 4.82 m/A); an average cost in place of the marginal fails this."""
    first, last = low * asymptote, (low + step) * asymptote
    stored, _ = quad(lambda mass: energy.marginal_tissue_kj_per_g(mass / asymptote), first, last)
    body = [mass * (3.51 + 4.82 * mass / asymptote) for mass in (first, last)]
    assert stored == pytest.approx(body[1] - body[0], rel=1e-9)


WORKED = {
    "swallow": {"asymptote_g": 22.4, "rate_per_day": 0.51, "hatch_g": 1.7, "fledging_days": 20.0},
    "heron": {"asymptote_g": 2322.0, "rate_per_day": 0.172, "hatch_g": 50.0, "fledging_days": 56.0},
}


def _rearing(asymptote_g, rate_per_day, hatch_g, fledging_days):
    inflection = growth_forms.inflection_days("logistic", hatch_g, asymptote_g, rate_per_day)
    total = energy.weathers_total_kj(asymptote_g, fledging_days)
    curve = ("logistic", asymptote_g, rate_per_day, inflection)
    coefficient = energy.maintenance_coefficient(*curve, fledging_days, total, 1.0)

    def growth_and_need(age):
        mass = growth_forms.mass_g("logistic", age, *curve[1:])
        gain = growth_forms.gain_g_per_day("logistic", age, *curve[1:])
        cost = energy.growth_cost_kj_per_day(mass, gain, asymptote_g)
        return cost, energy.need_kj_per_day(mass, gain, asymptote_g, coefficient)

    return total, coefficient, growth_and_need


@pytest.mark.parametrize(
    ("bird", "coefficient", "growth_share", "peak_kj", "peak_age"),
    [
        pytest.param("swallow", 3.702, 0.304, 59.7, 6.5, id="energetics s.1.8, tree swallow ZM82"),
        pytest.param("heron", 6.166, 0.298, 2413, 27.5, id="energetics s.1.8, great blue heron Auk 1995"),
    ],
)
def test_worked_rearing(bird, coefficient, growth_share, peak_kj, peak_age):
    rearing = WORKED[bird]
    total, found, growth_and_need = _rearing(**rearing)
    assert found == pytest.approx(coefficient, rel=2e-3)
    whole, _ = quad(lambda age: growth_and_need(age)[1], 0.0, rearing["fledging_days"])
    growth, _ = quad(lambda age: growth_and_need(age)[0], 0.0, rearing["fledging_days"])
    assert whole == pytest.approx(total, rel=1e-6)
    assert growth / whole == pytest.approx(growth_share, abs=0.001)
    ages = np.linspace(0.0, rearing["fledging_days"], 4001)
    need = growth_and_need(ages)[1]
    assert need.max() == pytest.approx(peak_kj, rel=2e-3)
    assert ages[need.argmax()] == pytest.approx(peak_age, abs=0.1)


def test_worked_day_of_the_tree_swallow():
    """C18, 0.2 %: growth 33.99 and need 59.07 kJ/d on day 6; the whole rearing 788.8 kJ."""
    total, _, growth_and_need = _rearing(**WORKED["swallow"])
    assert growth_and_need(6.0) == pytest.approx((33.99, 59.07), rel=2e-3)
    assert total == pytest.approx(788.8, rel=2e-3)


def test_heron_peak_and_its_timing_against_measurement():
    """Auk 1995, hand-reared, 2027 kJ/d on days 26 to 41; the notes find the model 17 to 19 % above."""
    _, _, growth_and_need = _rearing(**WORKED["heron"])
    ages = np.linspace(0.0, 56.0, 4001)
    need = growth_and_need(ages)[1]
    assert need.max() == pytest.approx(2027, rel=0.25)
    assert 26 <= ages[need.argmax()] <= 41


@given(
    form=st.sampled_from(["logistic", "gompertz"]),
    asymptote=st.floats(5.0, 3000.0),
    rate=st.floats(0.05, 0.6),
    scaled_inflection=st.floats(0.5, 3.5),
    share=st.floats(0.5, 1.0),
)
def test_maintenance_coefficient_closes_the_books(form, asymptote, rate, scaled_inflection, share):
    """An adaptive quadrature of need over the rearing gives back the share of the total."""
    inflection = scaled_inflection / rate
    days = inflection + 4.0 / rate
    total = 40.0 * asymptote
    curve = (form, asymptote, rate, inflection)
    coefficient = energy.maintenance_coefficient(*curve, days, total, share)

    def need(age):
        mass = growth_forms.mass_g(form, age, *curve[1:])
        gain = growth_forms.gain_g_per_day(form, age, *curve[1:])
        return energy.need_kj_per_day(mass, gain, asymptote, coefficient)

    whole, _ = quad(need, 0.0, days, limit=200, points=[inflection])
    assert whole == pytest.approx(share * total, rel=1e-5)


def test_maintenance_coefficient_is_vectorised():
    many = energy.maintenance_coefficient("logistic", [22.4, 2322], [0.51, 0.172], [4.9, 22.2], [20, 56], [789, 85457])
    one = energy.maintenance_coefficient("logistic", 2322, 0.172, 22.2, 56, 85457)
    assert many.shape == (2,)
    assert many[1] == pytest.approx(one, rel=1e-12)
    assert type(one) is float


def test_total_that_does_not_pay_for_tissue_is_refused_with_what_would():
    with pytest.raises(DomainError) as caught:
        energy.maintenance_coefficient("logistic", 22.4, 0.51, 4.9, 20.0, 100.0)
    assert caught.value.field == "total_kj"
    assert float(caught.value.remedy.split()[3]) > 100.0


def test_need_refuses_a_loss_and_a_giant():
    with pytest.raises(DomainError) as caught:
        energy.need_kj_per_day(10.0, -0.1, 22.0, 3.7)
    assert caught.value.field == "gain_g_per_day"
    with pytest.raises(DomainError) as caught:
        energy.need_kj_per_day(50.0, 0.1, 22.0, 3.7)
    assert caught.value.field == "mass_g"
