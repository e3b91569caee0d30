"""What holds for every mix: mass closes, heat lands, a refusal names a value that works."""

import re

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from species.domain.errors import DomainError
from tests.pure.plans.mix_requests import FORMULA_X, mixed

#: Hazard 19: a mix whose final_c is above 41.5 must never come out; the rule stops at 41.
NEVER_ABOVE_C = 41.5
GROUPS = st.sampled_from([None, "well", "sick"])


def numbers(low: float, high: float, digits: int = 1) -> st.SearchStrategy[float]:
    return st.integers(round(low * 10**digits), round(high * 10**digits)).map(lambda whole: whole / 10**digits)


portions = st.lists(
    st.fixed_dictionaries(
        {"volume_ml": numbers(0.1, 60.0), "dry_matter_fraction": numbers(0.07, 0.36, 2), "group": GROUPS},
        optional={"count": st.integers(1, 8)},
    ),
    min_size=1,
    max_size=6,
)
kitchens = st.fixed_dictionaries(
    {"portions": portions},
    optional={
        "target_c": numbers(38.0, 41.0),
        "hot_water_c": numbers(30.0, 100.0),
        "cool_water_c": numbers(0.0, 60.0),
        "powder_c": numbers(0.0, 60.0),
        "room_c": numbers(0.0, 45.0),
        "altitude_m": numbers(-500.0, 5000.0, 0),
        "spare_fraction": numbers(0.0, 1.0, 2),
        "hydration_j_per_g": numbers(-20.0, 40.0),
        "scoop_g": numbers(0.1, 50.0),
        "thin_in_steps": st.booleans(),
        "order": st.sampled_from(["blend_first", "paste_first"]),
        "formula": st.sampled_from([FORMULA_X, {"dry_matter_fraction": 0.95}, {"dry_matter_fraction": 0.88}]),
        "vessel": st.fixed_dictionaries(
            {"heat_capacity_j_per_k": numbers(0.0, 400.0)}, optional={"temperature_c": numbers(0.0, 100.0)}
        ),
    },
)
feasible = st.fixed_dictionaries(
    {"portions": portions},
    optional={
        "target_c": numbers(38.0, 41.0),
        "hot_water_c": numbers(65.0, 83.0),
        "cool_water_c": numbers(0.0, 30.0),
        "room_c": numbers(5.0, 37.0),
        "spare_fraction": numbers(0.0, 1.0, 2),
        "thin_in_steps": st.booleans(),
        "order": st.sampled_from(["blend_first", "paste_first"]),
    },
)


@settings(deadline=None, max_examples=80)
@given(kitchens)
def test_a_mix_is_refused_with_a_remedy_or_may_be_given(told):
    try:
        answer = mixed(**told)
    except DomainError as error:
        answer, refused = None, error
    if answer is None:
        assert refused.field.startswith("/")
        assert refused.remedy
        return
    for batch in answer.batches:
        assert batch.final_c <= NEVER_ABOVE_C
        assert all(step.final_c <= NEVER_ABOVE_C and step.low_final_c <= step.final_c + 1e-9 for step in batch.thinning)
        assert batch.hot_water_g + batch.cool_water_g == pytest.approx(batch.water_g, abs=1e-9)
        assert min(batch.powder_g, batch.water_g) > 0.0
        assert min(batch.hot_water_g, batch.cool_water_g) >= 0.0
    told_labels = sorted(label for batch in answer.batches for label in batch.labels)
    assert told_labels == sorted(f"portion {number}" for number in range(1, len(told["portions"]) + 1))


@settings(deadline=None, max_examples=80)
@given(feasible)
def test_rounding_stays_within_the_scale(told):
    """Powder and water are each off by half a step at most, and dry matter by what that makes of it."""
    answer = mixed(**told)
    sold = FORMULA_X["dry_matter_fraction"]
    for batch in answer.batches:
        step, made = batch.scale_step_g, batch.powder_g + batch.water_g
        assert made == pytest.approx(batch.mass_g, abs=step + 1e-6)
        for grams in (batch.powder_g, batch.water_g, batch.hot_water_g, batch.cool_water_g):
            assert grams / step == pytest.approx(round(grams / step), abs=1e-6)
        assert abs(batch.mixed_dry_matter_fraction - batch.dry_matter_fraction) <= sold * step / made + 5e-5
        if batch.mass_g >= 20.0:
            assert abs(batch.final_c - answer.temperature.target_c) <= 0.5


@settings(deadline=None, max_examples=40)
@given(feasible, st.integers(2, 5))
def test_more_of_the_same_takes_as_much_more_powder(told, times):
    large = [{**portion, "volume_ml": 20.0 + portion["volume_ml"], "count": 1} for portion in told["portions"]]
    often = [{**portion, "count": times} for portion in large]
    once, more = mixed(**told | {"portions": large}), mixed(**told | {"portions": often})
    for one, many in zip(once.batches, more.batches, strict=True):
        step = max(one.scale_step_g, many.scale_step_g)
        assert many.powder_g == pytest.approx(times * one.powder_g, abs=step * (times + 1))


@settings(deadline=None, max_examples=80)
@given(
    kitchens,
    st.sampled_from(["hot", "cool", "cold vessel", "hot vessel"]),
    numbers(20.0, 46.0),
    numbers(300.0, 5000.0, 0),
)
def test_the_value_that_a_refusal_names_works(told, wrong, temperature_c, heat_capacity_j_per_k):
    told = {**told, "hot_water_c": 80.0, "cool_water_c": 15.0, "powder_c": 20.0, "altitude_m": 0.0}
    told.pop("vessel", None)
    if wrong == "hot":
        told["hot_water_c"] = temperature_c
    elif wrong == "cool":
        told["cool_water_c"] = temperature_c
    else:
        at_c = 4.0 if wrong == "cold vessel" else 98.0
        told["vessel"] = {"heat_capacity_j_per_k": heat_capacity_j_per_k, "temperature_c": at_c}
    for _ in range(3):  # a vessel that was warmed may still ask for hotter water, and thinning for its own
        try:
            answer = mixed(**told)
        except DomainError as refused:
            told = _mended(told, refused)
        else:
            assert all(batch.final_c <= NEVER_ABOVE_C for batch in answer.batches)
            return
    pytest.fail("Three remedies did not do.")


def _mended(told, refused):
    value = float(re.search(r"(?:at least|at most) (\d+(?:\.\d+)?)", refused.remedy)[1])
    first, *rest = refused.field.strip("/").split("/")
    assert first in ("hot_water_c", "cool_water_c", "vessel")
    return {**told, first: {**told[first], rest[0]: value} if rest else value}


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"hot_water_c": 41.0}, "/hot_water_c"),
        ({"cool_water_c": 45.0}, "/cool_water_c"),
        ({"hot_water_c": 20.0}, "/hot_water_c"),
        ({"vessel": {"heat_capacity_j_per_k": 4000.0, "temperature_c": 5.0}}, "/vessel/temperature_c"),
        ({"vessel": {"heat_capacity_j_per_k": 4000.0, "temperature_c": 99.0}}, "/vessel/temperature_c"),
    ],
)
def test_one_remedy_does_and_a_little_less_does_not(told, field):
    """The named value is the nearest tenth that works: the next tenth towards the old value is refused."""
    with pytest.raises(DomainError) as refused:
        mixed(**told)
    assert refused.value.field == field
    mended = _mended(told, refused.value)
    mixed(**mended)
    first, *rest = field.strip("/").split("/")
    good, bad = (mended[first][rest[0]], told[first][rest[0]]) if rest else (mended[first], told[first])
    nearly = good + (0.1 if bad > good else -0.1)
    with pytest.raises(DomainError):
        mixed(**{**told, first: {**told[first], rest[0]: nearly} if rest else nearly})


@settings(deadline=None, max_examples=25)
@given(feasible)
def test_same_input_same_bytes(told):
    assert msgspec.json.encode(mixed(**told)) == msgspec.json.encode(mixed(**told))
