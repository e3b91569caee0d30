"""Growth forms against published constants, R's own fits of real chicks, and finite differences."""

import csv
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import curve_fit

from species.biology import growth_forms
from species.domain.errors import DomainError
from tests.reference_data import needs_reference

SWALLOW = {"asymptote_g": 22.4, "rate_per_day": 0.51, "inflection_days": 4.901}


@pytest.mark.parametrize(
    ("form", "expected"),
    [
        pytest.param("logistic", 4.39445, id="growth.md check 19, logistic t10-t90 K"),
        pytest.param("gompertz", 3.08440, id="growth.md check 19, Gompertz t10-t90 K"),
        pytest.param("bertalanffy", 2.74257, id="growth.md check 19, von Bertalanffy t10-t90 K"),
    ],
)
def test_t10_t90(form, expected):
    assert growth_forms.t10_t90_days(form, 1.0) == pytest.approx(expected, abs=1e-5)
    curve = (100.0, 0.2, 30.0)
    span = growth_forms.age_days(form, 90.0, *curve) - growth_forms.age_days(form, 10.0, *curve)
    assert span == pytest.approx(expected / 0.2, rel=1e-5)


@pytest.mark.parametrize(
    ("form", "share", "factor"),
    [
        pytest.param("logistic", 0.5, 0.25, id="RIC67 via growth.md s.1, logistic"),
        pytest.param("gompertz", 0.36788, 0.36788, id="RIC67 via growth.md s.1, Gompertz"),
        pytest.param("bertalanffy", 0.29630, 0.44444, id="RIC67 via growth.md s.1, von Bertalanffy"),
    ],
)
def test_inflection(form, share, factor):
    assert growth_forms.mass_g(form, 30.0, 100.0, 0.2, 30.0) == pytest.approx(100.0 * share, rel=2e-5)
    assert growth_forms.greatest_gain_g_per_day(form, 100.0, 0.2) == pytest.approx(20.0 * factor, rel=2e-5)
    assert growth_forms.gain_g_per_day(form, 30.0, 100.0, 0.2, 30.0) == pytest.approx(20.0 * factor, rel=2e-5)


def test_r_help_sslogis_of_chick_1():
    """R help of SSlogis, SSlogis(Time, 368, 14, 6): growth.md check 5, relative 1e-5."""
    ages = [0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 21]
    expected = [
        32.531, 43.867, 58.464, 76.768, 98.970, 124.842, 153.614, 184.0, 214.386, 243.158, 269.030, 280.615,
    ]  # fmt: skip
    assert_allclose(growth_forms.mass_g("logistic", ages, 368.0, 1 / 6, 14.0), expected, rtol=2e-5)


@pytest.mark.parametrize(
    ("age_days", "expected_g"),
    [
        pytest.param(2.0, 4.155, id="C18 tree swallow m(2)"),
        pytest.param(6.0, 14.259, id="C18 tree swallow m(6)"),
        pytest.param(10.0, 20.852, id="C18 tree swallow m(10)"),
    ],
)
def test_tree_swallow_mass(age_days, expected_g):
    assert growth_forms.mass_g("logistic", age_days, **SWALLOW) == pytest.approx(expected_g, rel=2e-3)


def test_tree_swallow_inflection_from_hatch_mass():
    """C18, 0.2 %: A 22.4 g, K 0.51, 1.7 g at hatching (assumed) gives t_i 4.901 d."""
    assert growth_forms.inflection_days("logistic", 1.7, 22.4, 0.51) == pytest.approx(4.901, rel=2e-3)


def test_tree_swallow_greatest_gain_and_span():
    """ZM82 by growth.md check 20, 0.1 %."""
    assert growth_forms.greatest_gain_g_per_day("logistic", 22.4, 0.51) == pytest.approx(2.856, rel=1e-3)
    assert growth_forms.t10_t90_days("logistic", 0.51) == pytest.approx(8.617, rel=1e-3)


def test_little_stint_rates_of_two_forms():
    """STI98 publishes K 0.285 logistic and 0.194 Gompertz; equal t10-t90 gives 0.200: growth.md check 21, 4
    %."""
    ratio = growth_forms.t10_t90_days("gompertz", 1.0) / growth_forms.t10_t90_days("logistic", 1.0)
    assert 0.285 * ratio == pytest.approx(0.194, rel=0.04)


def test_unified_richards_with_d_2_is_the_logistic():
    """growth.md check 22, 0.1 %: k_U 0.1275 is K 0.51."""
    assert_allclose(
        growth_forms.mass_g("logistic", [0.0, 5.0, 10.0], 22.4, 0.51, 5.0), [1.6224, 11.2, 20.7776], rtol=1e-3
    )


def _column(data, last_day=math.inf, **only):
    """Ages and masses of a file's rows that hold those values, from hatching to a last day."""
    with needs_reference("data", data).open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if all(row[key] == value for key, value in only.items())]
    rows = [row for row in rows if row["age_d"] and row["mass_g"] and 0 <= float(row["age_d"]) <= last_day]
    return np.array([float(row["age_d"]) for row in rows]), np.array([float(row["mass_g"]) for row in rows])


def _series(series_id, last_day=math.inf):
    return _column("amp_bird_growth_points.csv", last_day, series_id=series_id)


R_FITS = [
    # data, selection, form, (A, K, t_i) and residual standard error of R's nls
    ("chick_tree_swallow_2017.csv", {}, "logistic", (20.814, 0.4544, 5.416), 2.381, "check 24, tree swallows"),
    ("chick_tree_swallow_2017.csv", {"fledged": "1.0"}, "logistic", (21.380, 0.4587, 5.705), None, "check 25"),
    ("chick_common_tern.csv", {}, "logistic", (124.548, 0.20905, 10.147), 10.823, "check 26, common tern L"),
    ("chick_common_tern.csv", {}, "gompertz", (134.289, 0.12756, 7.822), 10.905, "check 26, common tern G"),
    ("chick_song_sparrow.csv", {}, "logistic", (15.329, 0.5356, 3.589), None, "check 28, song sparrow"),
    ("chick_barn_swallow_2021.csv", {}, "logistic", (19.604, 0.3882, 6.530), None, "check 29, barn swallow"),
    (
        "chick_zebra_finch_diet.csv",
        {"diet_early": "L", "last_day": 35},
        "logistic",
        (10.057, 0.2614, 8.826),
        None,
        "check 30, zebra finch, poor early diet",
    ),
    (
        "chick_zebra_finch_diet.csv",
        {"diet_early": "H", "last_day": 35},
        "logistic",
        (10.746, 0.3698, 6.872),
        None,
        "check 30, zebra finch, rich early diet",
    ),
    ("chickweight.csv", {"chick_id": "1"}, "logistic", (937.030, 1 / 11.4052, 35.2230), 2.919, "check 3-4, chick 1"),
    ("chickweight.csv", {"chick_id": "5"}, "logistic", (265.01, 1 / 5.238, 11.667), None, "check 6, chick 5"),
    ("chickweight.csv", {"chick_id": "7"}, "logistic", (561.87, 1 / 7.206, 19.642), None, "check 6, chick 7"),
    ("chickweight.csv", {"chick_id": "21"}, "logistic", (364.68, 1 / 4.517, 10.828), None, "check 6, chick 21"),
    ("chickweight.csv", {"chick_id": "35"}, "logistic", (477.01, 1 / 5.445, 13.811), None, "check 6, chick 35"),
    ("chickweight.csv", {"chick_id": "48"}, "logistic", (731.18, 1 / 8.030, 22.843), None, "check 6, chick 48"),
]


@pytest.mark.parametrize(
    ("data", "only", "form", "parameters", "residual_se"),
    [pytest.param(*row[:5], id=f"R 4.2.2 nls, growth.md {row[5]}") for row in R_FITS],
)
def test_least_squares_on_real_chicks_finds_what_r_finds(data, only, form, parameters, residual_se):
    _assert_fit(form, *_column(data, **only), parameters, residual_se)


def test_least_squares_on_pukeko_chicks_finds_what_r_finds():
    """R 4.2.2 nls, growth.md check 45, to 84 days, 1 %."""
    data = _column("chick_pukeko_2018.csv", last_day=84.0)
    _assert_fit("gompertz", *data, (982.1, 0.02577, 53.23), None, tolerance=1e-2)


AMP_FITS = [
    # series of AmP, last day, points, form, (A, K, t_i) and residual standard error
    ("729", 99, 16, "logistic", (50.378, 0.2445, 11.204), 0.811, "check 31, budgerigar L"),
    ("729", 99, 16, "gompertz", (53.124, 0.1512, 8.875), None, "check 31, budgerigar G"),
    ("535", 99, 36, "logistic", (23.729, 0.2349, 10.354), None, "check 32, green-rumped parrotlet L"),
    ("535", 99, 36, "gompertz", (24.500, 0.1528, 7.786), None, "check 32, green-rumped parrotlet G"),
    ("807", 28, 60, "logistic", (87.958, 0.2243, 13.183), 11.94, "check 33, cockatiel"),
    ("1258", 99, 33, "logistic", (830.63, 0.1052, 27.558), None, "check 34, black cockatoo L"),
    ("1258", 99, 33, "gompertz", (954.35, 0.0550, 24.316), None, "check 34, black cockatoo G"),
    ("396", 99, 30, "logistic", (267.456, 0.3721, 7.334), None, "check 36, stock dove"),
    ("410", 99, 29, "logistic", (366.101, 0.3058, 11.798), None, "check 37, American crow"),
    ("530", 99, 11, "logistic", (205.899, 0.2925, 7.881), None, "check 38, kestrel"),
    ("130", 99, 9, "logistic", (1031.07, 0.2976, 9.713), None, "check 40, grey heron"),
    ("1147", 77, 379, "gompertz", (1783.08, 0.0730, 23.829), None, "check 41, kakapo females G"),
    ("1147", 77, 379, "logistic", (1706.76, 0.1127, 28.817), None, "check 41, kakapo females L"),
    ("538", 99, 38, "gompertz", (474.17, 0.0651, 14.373), None, "check 42, Atlantic puffin"),
    ("1038", 99, 56, "logistic", (527.44, 0.1524, 22.404), None, "check 43, toco toucan"),
    ("1135", 99, 27, "logistic", (125.824, 0.2254, 9.958), None, "check 44, common tern means"),
]


@pytest.mark.parametrize(
    ("series_id", "last_day", "count", "form", "parameters", "residual_se"),
    [pytest.param(*row[:6], id=f"R 4.2.2 nls, growth.md {row[6]}") for row in AMP_FITS],
)
def test_least_squares_on_published_series(series_id, last_day, count, form, parameters, residual_se):
    ages, masses = _series(series_id, last_day)
    assert len(ages) == count
    _assert_fit(form, ages, masses, parameters, residual_se)


@pytest.mark.parametrize(
    ("series_id", "form", "start", "squares"),
    [
        pytest.param("1258", "logistic", (830, 0.105, 27.6), 34724, id="growth.md check 34, black cockatoo L"),
        pytest.param("1258", "gompertz", (954, 0.055, 24.3), 17336, id="growth.md check 34, black cockatoo G"),
        pytest.param("1258", "bertalanffy", (1072, 0.039, 22.4), 14323, id="growth.md check 34, best: B"),
        pytest.param("661", "logistic", (1000, 0.14, 18.0), 7411.4, id="growth.md check 39, herring gull L"),
        pytest.param("661", "gompertz", (1100, 0.08, 15.0), 7394.2, id="growth.md check 39, herring gull G"),
    ],
)
def test_residual_sum_of_squares(series_id, form, start, squares):
    ages, masses = _series(series_id)
    fitted = _least_squares(form, ages, masses, start)
    found = np.sum((masses - growth_forms.mass_g(form, ages, *fitted)) ** 2)
    assert found == pytest.approx(squares, rel=1e-3)


def _least_squares(form, ages, masses, start):
    return curve_fit(lambda t, a, k, i: growth_forms.mass_g(form, t, a, k, i), ages, masses, p0=start)[0]


def _assert_fit(form, ages, masses, parameters, residual_se, tolerance=1e-3):
    start = np.array(parameters) * [1.05, 0.95, 1.05]
    assert_allclose(_least_squares(form, ages, masses, start), parameters, rtol=tolerance)
    if residual_se is not None:
        residuals = masses - growth_forms.mass_g(form, ages, *parameters)
        assert math.sqrt(np.sum(residuals**2) / (len(ages) - 3)) == pytest.approx(residual_se, rel=1e-3)


forms = st.sampled_from(["logistic", "gompertz", "bertalanffy"])
asymptotes = st.floats(2.0, 12_000.0)
rates = st.floats(0.02, 0.9)


@given(form=forms, asymptote=asymptotes, rate=rates, share=st.floats(0.02, 0.98))
def test_age_is_the_inverse_of_mass(form, asymptote, rate, share):
    age = growth_forms.age_days(form, share * asymptote, asymptote, rate, 400.0)
    assert growth_forms.mass_g(form, age, asymptote, rate, 400.0) == pytest.approx(share * asymptote, rel=1e-9)


@given(form=forms, asymptote=asymptotes, rate=rates, share=st.floats(0.02, 0.98))
def test_gain_is_the_slope_of_mass(form, asymptote, rate, share):
    age = growth_forms.age_days(form, share * asymptote, asymptote, rate, 400.0)
    step = 1e-4 / rate
    before, after = growth_forms.mass_g(form, [age - step, age + step], asymptote, rate, 400.0)
    gain = growth_forms.gain_g_per_day(form, age, asymptote, rate, 400.0)
    assert gain == pytest.approx((after - before) / (2 * step), rel=1e-5)


@given(form=forms, share=st.floats(0.01, 0.6), asymptote=asymptotes, rate=rates)
def test_curve_from_hatch_mass_starts_there(form, share, asymptote, rate):
    inflection = growth_forms.inflection_days(form, share * asymptote, asymptote, rate)
    assert growth_forms.mass_g(form, 0.0, asymptote, rate, inflection) == pytest.approx(share * asymptote, rel=1e-9)


def test_scalars_give_floats_and_arrays_their_shape():
    assert type(growth_forms.mass_g("gompertz", 3, 50, 0.2, 8)) is float
    ages = np.arange(6.0).reshape(2, 3)
    assert growth_forms.mass_g("gompertz", ages, 50, 0.2, 8).shape == (2, 3)
    assert growth_forms.mass_g("gompertz", ages, [50, 60, 70], 0.2, 8).shape == (2, 3)


def test_far_from_the_inflection_nothing_overflows():
    with np.errstate(all="raise", under="ignore"):
        assert growth_forms.mass_g("gompertz", 0.0, 50.0, 0.9, 2000.0) == 0.0
        assert growth_forms.gain_g_per_day("gompertz", 0.0, 50.0, 0.9, 2000.0) == 0.0
        assert growth_forms.gain_g_per_day("bertalanffy", 5000.0, 50.0, 0.9, 2.0) == 0.0


@pytest.mark.parametrize("mass", [50.0, 51.0, [10.0, 50.0]])
def test_mass_at_the_asymptote_tells_no_age(mass):
    with pytest.raises(DomainError) as caught:
        growth_forms.age_days("logistic", mass, 50.0, 0.2, 8.0)
    assert caught.value.field == "mass_g"


def test_von_bertalanffy_has_no_mass_before_it_starts():
    with pytest.raises(DomainError) as caught:
        growth_forms.mass_g("bertalanffy", 0.0, 50.0, 0.2, 8.0)
    assert caught.value.field == "age_days"


def test_unknown_form_names_those_there_are():
    with pytest.raises(DomainError, match="logistic, gompertz, bertalanffy"):
        growth_forms.mass_g("cubic", 0.0, 50.0, 0.2, 8.0)
