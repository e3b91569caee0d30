"""The unified Richards form, the Jacobian of log mass, the recession, and a species' curve as one value."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from species.biology import growth_forms
from species.biology.curve import SpeciesCurve, curvature_of_birds, log_mass_jacobian, log_masses_of_birds
from species.biology.growth_forms import growth_form
from species.biology.recession import Recession
from species.domain.errors import DomainError

AGES = np.array([0.0, 2.0, 5.0, 9.0, 14.0, 21.0, 30.0])


def richards_by_hand(t, a, k, ti, d):
    """TT10 as printed in growth.md section 1, in plain Python."""
    return a * (1 + (d - 1) * math.exp(-k * (t - ti) / d ** (d / (1 - d)))) ** (1 / (1 - d))


@pytest.mark.parametrize(
    "d", [pytest.param(d, id=f"TT10 via growth.md s.1, d = {d}") for d in (0.3, 0.8, 1.3, 3.0, 6.0)]
)
def test_richards_is_the_printed_formula(d):
    ages = AGES + 12.0
    expected = [richards_by_hand(t, 50.0, 0.08, 9.0, d) for t in ages]
    assert_allclose(growth_forms.mass_g("richards", ages, 50.0, 0.08, 9.0, d), expected, rtol=1e-11)


@pytest.mark.parametrize(
    ("d", "form", "factor"),
    [
        pytest.param(2.0, "logistic", 4.0, id="TT10: d = 2 is the logistic with K = 4 k_U"),
        pytest.param(1.0, "gompertz", math.e, id="TT10: d -> 1 is the Gompertz with K = e k_U"),
        pytest.param(1.0 + 1e-12, "gompertz", math.e, id="TT10: d -> 1 from above"),
        pytest.param(1.0 - 1e-12, "gompertz", math.e, id="TT10: d -> 1 from below"),
        pytest.param(2.0 / 3.0, "bertalanffy", 2.25, id="TT10: d = 2/3 is the von Bertalanffy with K = 9 k_U / 4"),
    ],
)
def test_richards_joins_the_three_forms(d, form, factor):
    unified, classical = (80.0, 0.06, 6.0), (80.0, 0.06 * factor, 6.0)
    ages = AGES[1:]
    for function in (growth_forms.mass_g, growth_forms.gain_g_per_day):
        assert_allclose(function("richards", ages, *unified, d), function(form, ages, *classical), rtol=1e-10)
    assert growth_forms.age_days("richards", 30.0, *unified, d) == pytest.approx(
        growth_forms.age_days(form, 30.0, *classical), rel=1e-10
    )
    assert growth_forms.t10_t90_days("richards", 0.06, d) == pytest.approx(
        growth_forms.t10_t90_days(form, 0.06 * factor), rel=1e-10
    )


def test_richards_of_the_tree_swallow():
    """growth.md check 22, 0.1 %: d = 2, k_U = 0.1275, A 22.4 g, T_i 5 d at 0, 5 and 10 d."""
    assert_allclose(
        growth_forms.mass_g("richards", [0.0, 5.0, 10.0], 22.4, 0.1275, 5.0, 2.0), [1.6224, 11.2, 20.7776], rtol=1e-3
    )


@pytest.mark.parametrize(
    "d", [pytest.param(d, id=f"growth.md s.1 U-Richards row, d = {d}") for d in (0.4, 0.9, 1.2, 2.0, 5.0)]
)
def test_richards_at_the_inflection(d):
    """W = A d^(1 / (1 - d)), greatest gain A k_U (table of forms)."""
    curve = (200.0, 0.05, 20.0, d)
    assert growth_forms.mass_g("richards", 20.0, *curve) == pytest.approx(200.0 * d ** (1 / (1 - d)), rel=1e-12)
    assert growth_forms.gain_g_per_day("richards", 20.0, *curve) == pytest.approx(10.0, rel=1e-12)
    assert growth_forms.greatest_gain_g_per_day("richards", 200.0, 0.05, d) == pytest.approx(10.0, rel=1e-12)
    near = growth_forms.gain_g_per_day("richards", [19.0, 21.0], *curve)
    assert np.all(np.asarray(near) < 10.0)


def test_gompertz_of_r_sgompertz():
    """R SSgompertz Asym exp(-b2 b3^t), fit of DNase run 1, growth.md check 18: K = -ln b3, t_i = ln(b2) / K."""
    asymptote, b2, b3 = 4.60333, 2.27134, 0.71647
    rate = -math.log(b3)
    t = np.array([0.05, 0.2, 0.4, 0.8, 1.6, 3.1, 6.2, 12.5])
    assert_allclose(
        growth_forms.mass_g("gompertz", t, asymptote, rate, math.log(b2) / rate),
        asymptote * np.exp(-b2 * b3**t),
        rtol=1e-12,
    )


def test_shape_slope_runs_through_one():
    """The series for d near 1 meets the closed form (no source: algebra)."""
    ages = np.array([1.0, 6.0, 12.0, 25.0])
    x = 0.08 * (ages - 9.0)
    around = [growth_form("richards", 1.0 + step).shape_slope(x) for step in (-3e-3, -1e-9, 0.0, 1e-9, 3e-3)]
    assert_allclose(around[1], around[2], rtol=1e-7)
    assert_allclose(around[3], around[2], rtol=1e-7)
    assert_allclose(0.5 * (around[0] + around[4]), around[2], rtol=1e-3, atol=1e-6)


named = st.sampled_from(["logistic", "gompertz", "bertalanffy", "richards"])
recessions = st.none() | st.builds(
    Recession,
    recession_fraction=st.floats(0.0, 0.4),
    from_day=st.floats(5.0, 20.0),
    to_day=st.floats(22.0, 50.0),
)


@given(
    form=named,
    log_asymptote=st.floats(0.7, 9.0),
    log_rate=st.floats(-4.0, -0.2),
    d=st.floats(0.3, 6.0),
    share=st.floats(0.05, 0.97),
    recession=recessions,
)
def test_jacobian_against_finite_differences(form, log_asymptote, log_rate, d, share, recession):
    """Central differences of the log of mass_g, which is checked against printed formulas."""
    richards = form == "richards"
    rate, shape = math.exp(log_rate), d if richards else None
    inflection = 12.0
    age = max(0.5, inflection + float(growth_form(form, shape).scaled_age(np.asarray(share))) / rate)
    if age > 5_000 or float(rate * (age - inflection)) <= growth_form(form, shape).earliest_x + 0.05:
        return

    def log_mass(parameters):
        a, k, shift, *own = parameters
        kept = 1.0 if recession is None else math.exp(float(recession.log_kept(age + shift)[0]))
        own_shape = own[0] if richards else None
        return math.log(kept * growth_forms.mass_g(form, age + shift, math.exp(a), math.exp(k), inflection, own_shape))

    at = [log_asymptote, log_rate, 0.0] + ([d] if richards else [])
    told, jacobian = log_mass_jacobian(form, age, math.exp(log_asymptote), rate, inflection, shape, recession)
    assert jacobian.shape == (len(at),)
    assert float(told) == pytest.approx(log_mass(at), rel=1e-12, abs=1e-12)
    for column in range(len(at)):
        step = 1e-5
        ahead, behind = list(at), list(at)
        ahead[column] += step
        behind[column] -= step
        slope = (log_mass(ahead) - log_mass(behind)) / (2 * step)
        assert jacobian[column] == pytest.approx(slope, rel=2e-5, abs=2e-7)


@given(
    form=named,
    deviation=st.tuples(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3), st.floats(-1.0, 2.0)),
    d=st.floats(0.5, 4.0),
    recession=recessions,
)
def test_slopes_and_bends_of_birds_against_finite_differences(form, deviation, d, recession):
    richards = form == "richards"
    curve = SpeciesCurve(form, 90.0, 0.08 if richards else 0.2, 8.0, d if richards else None, recession)
    ages = np.array([[6.0, 9.0, 16.0, 27.0, 41.0]])
    parameters = np.array([[math.log(90.0), math.log(curve.rate_per_day), 0.0]]) + deviation
    log_mass, slopes = log_masses_of_birds(curve, parameters, ages)
    bends = curvature_of_birds(curve, parameters, ages)
    if not np.all(np.isfinite(log_mass)):
        return
    step = 1e-5
    for column in range(3):
        move = step * np.eye(3)[column]
        (ahead, ahead_slope), (behind, behind_slope) = (
            log_masses_of_birds(curve, parameters + sign * move, ages) for sign in (1, -1)
        )
        assert_allclose(slopes[0, column], (ahead - behind)[0] / (2 * step), rtol=2e-5, atol=2e-7)
        by_slopes = (ahead_slope - behind_slope)[0] / (2 * step)
        expected = [np.zeros(5), *((bends[0, 0], bends[0, 1]) if column == 1 else (bends[0, 1], bends[0, 2]))]
        if column:
            assert_allclose(by_slopes, expected, rtol=1e-4, atol=1e-6)
        else:
            assert_allclose(by_slopes, np.zeros((3, 5)), atol=1e-9)


def test_jacobian_stacks_arrays():
    log_mass, jacobian = log_mass_jacobian("gompertz", AGES.reshape(1, -1), [[40.0], [50.0]], 0.2, 8.0)
    assert log_mass.shape == (2, 7)
    assert jacobian.shape == (2, 7, 3)
    one, of_one = log_mass_jacobian("gompertz", 14.0, 50.0, 0.2, 8.0)
    assert log_mass[1, 4] == one
    assert_allclose(jacobian[1, 4], of_one)


SERIES = [
    # peak g, at day, last g, at day, printed drop in per cent
    pytest.param(1452.5, 77.3, 1283.0, 107.0, 11.7, id="GUE93 hyacinth macaw"),
    pytest.param(54.5, 27.0, 51.5, 43.0, 6.0, id="growth.md s.4 common swift"),
    pytest.param(21.0, 15.0, 17.9, 26.0, 15.0, id="growth.md s.4 Vaux's swift"),
    pytest.param(613.0, 52.0, 536.0, 75.0, 13.0, id="growth.md s.4 Manx shearwater"),
    pytest.param(88.0, 20.0, 69.0, 31.0, 22.0, id="growth.md s.4 pied kingfisher"),
    pytest.param(12_381.0, 190.0, 10_054.0, 264.0, 19.0, id="growth.md s.4 wandering albatross"),
    pytest.param(804.0, 57.0, 641.0, 112.0, 20.0, id="growth.md s.4 blue-throated macaw"),
    pytest.param(26.8, 14.0, 21.0, 25.0, 22.0, id="growth.md s.4 cliff swallow"),
]


@pytest.mark.parametrize(("peak_g", "peak_day", "last_g", "last_day", "drop"), SERIES)
def test_recession_from_printed_peak_to_printed_end(peak_g, peak_day, last_g, last_day, drop):
    """A curve that has reached its plateau at the peak then falls by the printed share, and no further."""
    recession = Recession(drop / 100.0, peak_day, last_day)
    curve = SpeciesCurve("logistic", peak_g, 40.0 / peak_day, peak_day / 3.0, recession=recession)
    assert curve.mass_g(peak_day) == pytest.approx(peak_g, rel=1e-9)
    assert curve.mass_g(last_day) == pytest.approx(last_g, abs=0.005 * peak_g)  # printed to whole per cent
    assert curve.mass_g(2.0 * last_day) == curve.mass_g(last_day)
    days = np.linspace(peak_day, last_day, 60)
    assert np.all(np.diff(curve.mass_g(days)) < 0.0)
    assert curve.mass_g(0.5 * (peak_day + last_day)) == pytest.approx(peak_g * (1.0 - drop / 200.0), rel=1e-9)


def test_gain_follows_the_recession():
    curve = SpeciesCurve("gompertz", 60.0, 0.15, 10.0, recession=Recession(0.12, 28.0, 42.0))
    for age in (5.0, 20.0, 28.0, 30.0, 35.0, 41.9, 42.0, 50.0):
        slope = (curve.mass_g(age + 1e-5) - curve.mass_g(age - 1e-5)) / 2e-5
        assert curve.gain_g_per_day(age) == pytest.approx(slope, rel=1e-5, abs=1e-6)
    assert curve.gain_g_per_day(35.0) < 0.0 < curve.gain_g_per_day(20.0)


def test_curve_without_recession_is_its_form():
    curve = SpeciesCurve("logistic", 22.4, 0.51, 4.901)
    assert_allclose(curve.mass_g(AGES), growth_forms.mass_g("logistic", AGES, 22.4, 0.51, 4.901), rtol=1e-14)
    assert type(curve.mass_g(3)) is float
    assert curve.age_days(curve.mass_g(6.5)) == pytest.approx(6.5, rel=1e-12)
    assert curve.age_days(0.5) < 0.0


def test_mass_after_the_peak_tells_no_age():
    curve = SpeciesCurve("logistic", 60.0, 0.3, 9.0, recession=Recession(0.1, 20.0, 30.0))
    assert curve.age_days(curve.mass_g(15.0)) == pytest.approx(15.0)
    with pytest.raises(DomainError) as caught:
        curve.age_days(float(curve.mass_g(20.0)) + 0.1)
    assert caught.value.code == "at_asymptote"


@pytest.mark.parametrize(
    ("build", "field"),
    [
        (lambda: SpeciesCurve("cubic", 1.0, 1.0, 1.0), "form"),
        (lambda: SpeciesCurve("logistic", 0.0, 0.2, 8.0), "asymptote_g"),
        (lambda: SpeciesCurve("logistic", 50.0, -0.2, 8.0), "rate_per_day"),
        (lambda: SpeciesCurve("logistic", 50.0, 0.2, math.nan), "inflection_days"),
        (lambda: SpeciesCurve("richards", 50.0, 0.2, 8.0), "shape"),
        (lambda: SpeciesCurve("richards", 50.0, 0.2, 8.0, shape=0.0), "shape"),
        (lambda: SpeciesCurve("gompertz", 50.0, 0.2, 8.0, shape=1.0), "shape"),
        (lambda: Recession(1.0, 10.0, 20.0), "recession_fraction"),
        (lambda: Recession(-0.1, 10.0, 20.0), "recession_fraction"),
        (lambda: Recession(0.1, 20.0, 20.0), "to_day"),
        (lambda: Recession(0.1, math.nan, 20.0), "from_day"),
        (lambda: SpeciesCurve("richards", 50.0, 0.2, 8.0, shape=0.5).mass_g(0.0), "age_days"),
        (lambda: SpeciesCurve("logistic", 50.0, 0.2, 8.0).mass_g(-1.0), "age_days"),
        (lambda: SpeciesCurve("logistic", 50.0, 0.2, 8.0).age_days(50.0), "mass_g"),
    ],
)
def test_outside_the_domain_is_refused(build, field):
    with pytest.raises(DomainError) as caught:
        build()
    assert caught.value.field == field
