"""Every number argument of every function refuses what is no number, and names itself."""

import inspect
import math

import numpy as np
import pytest

from species.biology import allometry, cooling, energy, food_energy, growth_forms, mixing, population, powder, water
from species.domain.errors import DomainError

X = {"water": 0.08, "protein": 0.20, "fat": 0.10, "carbohydrate": 0.55, "fibre": 0.03, "ash": 0.04}
CURVE = {"form": "logistic", "asymptote_g": 50.0, "rate_per_day": 0.3, "inflection_days": 8.0}
SPREADS = {"log_asymptote_sd": 0.1, "log_rate_sd": 0.1, "inflection_sd_days": 1.0, "residual_log_sd": 0.1}
HEAT = {
    "vessel_heat_capacity_j_per_k": 100.0,
    "vessel_c": 20.0,
    "hydration_j_per_g": 1.0,
    "extra_loss_j": 10.0,
    "composition": X,
}

# Arguments within the domain of every public function that takes numbers.
CALLS = [
    (growth_forms.mass_g, {**CURVE, "age_days": 5.0}),
    (growth_forms.gain_g_per_day, {**CURVE, "age_days": 5.0}),
    (growth_forms.age_days, {**CURVE, "mass_g": 20.0}),
    (growth_forms.inflection_days, {"form": "gompertz", "hatch_mass_g": 3.0, "asymptote_g": 50.0, "rate_per_day": 0.3}),
    (growth_forms.t10_t90_days, {"form": "gompertz", "rate_per_day": 0.3}),
    (growth_forms.greatest_gain_g_per_day, {"form": "gompertz", "asymptote_g": 50.0, "rate_per_day": 0.3}),
    (population.mass_centiles_g, {**CURVE, **SPREADS, "age_days": 5.0, "centiles": 50.0}),
    (population.mass_band_g, {**CURVE, **SPREADS, "age_days": 5.0}),
    (population.z_of_mass, {**CURVE, **SPREADS, "age_days": 5.0, "mass_g": 20.0}),
    (population.centile_of_mass, {**CURVE, **SPREADS, "age_days": 5.0, "mass_g": 20.0}),
    (allometry.growth_prior, {"order_group": "owls", "adult_mass_g": 300.0}),
    (energy.lasiewski_dawson_basal_kj_per_day, {"mass_g": 20.0, "passerine": True}),
    (energy.mckechnie_wolf_basal_kj_per_day, {"mass_g": 20.0}),
    (energy.clinical_basal_kj_per_day, {"mass_g": 20.0, "passerine": True}),
    (energy.clinical_maintenance_kj_per_day, {"mass_g": 20.0, "passerine": True}),
    (energy.clinical_growth_band_kj_per_day, {"mass_g": 20.0, "passerine": True}),
    (energy.nagy_field_kj_per_day, {"mass_g": 20.0}),
    (energy.nestling_field_kj_per_day, {"asymptote_g": 20.0}),
    (energy.weathers_total_kj, {"asymptote_g": 20.0, "fledging_days": 16.0}),
    (energy.weathers_peak_kj_per_day, {"asymptote_g": 20.0, "fledging_days": 16.0}),
    (energy.drent_total_kj, {"asymptote_g": 300.0}),
    (energy.marginal_tissue_kj_per_g, {"maturity": 0.5}),
    (energy.growth_cost_kj_per_day, {"mass_g": 20.0, "gain_g_per_day": 2.0, "asymptote_g": 50.0}),
    (energy.maintenance_coefficient, {**CURVE, "fledging_days": 20.0, "total_kj": 2000.0, "share": 0.75}),
    (
        energy.need_kj_per_day,
        {"mass_g": 20.0, "gain_g_per_day": 2.0, "asymptote_g": 50.0, "coefficient": 4.0},
    ),
    (
        food_energy.label_energy_kj_per_g,
        {"protein_fraction": 0.2, "fat_fraction": 0.1, "starch_fraction": 0.4, "sugar_fraction": 0.1},
    ),
    (
        food_energy.energy_kj_per_ml,
        {"dry_matter_fraction": 0.25, "energy_kj_per_g_dm": 16.0, "slurry_density_g_per_ml": 1.07},
    ),
    (water.density_g_per_ml, {"temperature_c": 40.0}),
    (water.enthalpy_j_per_g, {"temperature_c": 40.0}),
    (water.heat_capacity_j_per_g_k, {"temperature_c": 40.0}),
    (water.pressure_pa, {"altitude_m": 500.0}),
    (water.boiling_c, {"altitude_m": 500.0}),
    (powder.component_heat_capacity_j_per_g_k, {"component": "fat", "temperature_c": 40.0}),
    (powder.component_density_g_per_ml, {"component": "fat", "temperature_c": 40.0}),
    (powder.heat_capacity_j_per_g_k, {"composition": X, "temperature_c": 40.0}),
    (powder.enthalpy_j_per_g, {"composition": X, "temperature_c": 40.0}),
    (powder.density_g_per_ml, {"composition": X, "temperature_c": 40.0}),
    (powder.dry_solids_volume_ml_per_g, {"composition": X, "temperature_c": 40.0}),
    (mixing.mass_balance, {"batch_g": 500.0, "dry_matter_fraction": 0.25, "powder_dry_matter_fraction": 0.92}),
    (
        mixing.mixed_dry_matter_fraction,
        {"powder_g": 100.0, "water_g": 300.0, "powder_dry_matter_fraction": 0.92},
    ),
    (
        mixing.slurry_volume_ml_per_g,
        {"dry_matter_fraction": 0.25, "composition": X, "temperature_c": 40.0},
    ),
    (
        mixing.slurry_density_g_per_ml,
        {"dry_matter_fraction": 0.25, "composition": X, "temperature_c": 40.0},
    ),
    (
        mixing.single_water_c,
        {**HEAT, "water_g": 300.0, "powder_g": 100.0, "target_c": 40.0, "powder_c": 20.0},
    ),
    (
        mixing.hot_and_cool_water_g,
        {
            **HEAT,
            "water_g": 300.0,
            "powder_g": 100.0,
            "target_c": 40.0,
            "hot_water_c": 80.0,
            "cool_water_c": 20.0,
            "powder_c": 20.0,
        },
    ),
    (mixing.blend_temperature_c, {"hot_g": 100.0, "hot_c": 80.0, "cool_g": 200.0, "cool_c": 20.0}),
    (
        mixing.final_temperature_c,
        {
            **HEAT,
            "hot_g": 100.0,
            "hot_c": 80.0,
            "cool_g": 200.0,
            "cool_c": 20.0,
            "powder_g": 100.0,
            "powder_c": 20.0,
        },
    ),
    (cooling.cooling_rate_per_min, {"volume_ml": 100.0}),
    (
        cooling.temperature_after_c,
        {"start_c": 41.0, "room_c": 20.0, "rate_per_min": 0.03, "minutes": 5.0},
    ),
    (cooling.minutes_above, {"start_c": 41.0, "low_c": 38.0, "room_c": 20.0, "rate_per_min": 0.03}),
    (cooling.doubling_time_h, {"log10_per_h": 0.7}),
    (cooling.log10_growth, {"held_h": 2.0, "lag_h": 0.5, "log10_per_h": 0.7}),
]

# May be negative, and are refused only where they are no number.
SIGNED = {"inflection_days", "hydration_j_per_g", "altitude_m", "room_c", "low_c"}
NUMBERS = [
    pytest.param(function, good, name, id=f"{function.__module__.rsplit('.', 1)[-1]}.{function.__name__} {name}")
    for function, good in CALLS
    for name, value in good.items()
    if isinstance(value, float)
]


def _fields(call):
    with pytest.raises(DomainError) as caught:
        call()
    assert caught.value.detail
    return caught.value.field


@pytest.mark.parametrize(("function", "good", "name"), NUMBERS)
def test_no_number_is_refused_by_name(function, good, name):
    for bad in (math.nan, math.inf, -math.inf):
        assert _fields(lambda bad=bad: function(**{**good, name: bad})) == name


@pytest.mark.parametrize(("function", "good", "name"), [p for p in NUMBERS if p.values[2] not in SIGNED])
def test_negative_is_refused_by_name(function, good, name):
    assert _fields(lambda: function(**{**good, name: -1.0})) == name


@pytest.mark.parametrize(("function", "good", "name"), NUMBERS)
def test_one_bad_element_spoils_an_array(function, good, name):
    assert _fields(lambda: function(**{**good, name: np.array([good[name], math.nan])})) == name


@pytest.mark.parametrize(
    ("function", "good"), [pytest.param(f, g, id=f"{f.__module__.rsplit('.', 1)[-1]}.{f.__name__}") for f, g in CALLS]
)
def test_array_of_one_equals_the_scalar(function, good):
    def plain(result):
        if hasattr(result, "__dataclass_fields__"):
            result = [getattr(result, name) for name in result.__dataclass_fields__]
            result = [value for value in result if isinstance(value, float | np.ndarray)]
        return result if isinstance(result, tuple | list) else [result]

    arrays = {name: np.array([value]) if isinstance(value, float) else value for name, value in good.items()}
    for one, many in zip(plain(function(**good)), plain(function(**arrays)), strict=True):
        assert type(one) is float
        assert float(np.ravel(many)[0]) == pytest.approx(one, rel=1e-12)


def test_no_public_function_is_left_out():
    modules = (allometry, cooling, energy, food_energy, growth_forms, mixing, population, powder, water)
    public = {
        function
        for module in modules
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    }
    elsewhere = {
        # no number argument, or tested with the function that takes it in hand
        allometry.group_of,
        food_energy.composition_energy,
        food_energy.composition_energy_kj_per_g_dm,
        growth_forms.growth_form,
        growth_forms.scaled_age,
        population.log_mass_sd,
        powder.fractions,
        powder.heat_between_j_per_g,
    }
    assert public - {function for function, _ in CALLS} == elsewhere


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: water.density_g_per_ml(100.5), "at least 0 and at most 100"),
        (lambda: water.boiling_c(-501.0), "at least -500 and at most 5000"),
        (lambda: water.boiling_c(5001.0), "at least -500 and at most 5000"),
        (lambda: energy.drent_total_kj(99.0), "at least 100 and at most 1000"),
        (lambda: energy.marginal_tissue_kj_per_g(2.1), "at least 0 and at most 2"),
    ],
    ids=["steam", "below the sea", "above the tents", "too light for gulls", "twice grown"],
)
def test_a_refusal_says_what_would_do(call, said):
    with pytest.raises(DomainError) as caught:
        call()
    assert said in caught.value.remedy
