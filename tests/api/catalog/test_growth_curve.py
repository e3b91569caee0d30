"""GET /species/{key}/growth-curve and .csv."""

import csv
import io
import math

import pytest

from tests import openapi

CURVE = "/api/v1/species/fictus-psittacinus/growth-curve"

# Normal quantiles: Abramowitz and Stegun 1964, table 26.5 (0.97 -> 1.88079, 0.85 -> 1.03643).
Z = {3: -1.88079, 15: -1.03643, 50: 0.0, 85: 1.03643, 97: 1.88079}


@pytest.fixture
def body(species, api):
    response = api.get(CURVE)
    assert response.status_code == 200
    assert openapi.response_faults("/api/v1/species/{key}/growth-curve", "get", 200, response.json()) == []
    return response.json()


def test_every_day_of_the_curve(body):
    assert [day["age_days"] for day in body["days"]] == list(range(41))
    assert body["growth_curve"]["asymptote_g"]["sources"] == ["INV2 fig.1"]
    assert [source["key"] for source in body["sources"]] == ["INV2"]


def test_expected_mass_is_the_logistic_curve(body):
    """Logistic after Ricklefs 1967, Ecology 48:978: W = A / (1 + exp(-K (t - ti)))."""
    for day in body["days"]:
        mass_g = 95 / (1 + math.exp(-0.25 * (day["age_days"] - 12)))
        assert day["expected_g"] == pytest.approx(mass_g, abs=0.005)


def test_half_the_asymptote_at_the_inflection(body):
    assert body["days"][12]["expected_g"] == 47.5


def test_centiles_lie_as_the_normal_quantiles_do(body):
    """Log mass is normal, so logs of the centiles stand in the ratio of the quantiles."""
    for day in body["days"]:
        centiles = {p: math.log(day[f"centile_{p}_g"] / day["expected_g"]) for p in Z}
        spread = centiles[97] / Z[97]
        assert spread > 0.04
        for p, z in Z.items():
            assert centiles[p] == pytest.approx(z * spread, abs=0.003)


def test_the_table_is_the_same(body, species, api):
    response = api.get(f"{CURVE}.csv")
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    rows = list(csv.DictReader(io.StringIO(response.content.decode())))
    assert [{name: float(value) for name, value in row.items()} for row in rows] == body["days"]
    again = api.get(f"{CURVE}.csv", headers={"If-None-Match": response["ETag"]})
    assert again.status_code == 304


@pytest.mark.parametrize("suffix", ["", ".csv"])
def test_a_species_without_a_curve(species, api, suffix):
    response = api.get(f"/api/v1/species/fictus-muscivorus/growth-curve{suffix}")
    assert response.status_code == 404
    assert response.json()["errors"][0]["code"] == "no_growth_curve"


@pytest.mark.parametrize("suffix", ["", ".csv"])
def test_former_and_unknown_keys(species, api, suffix):
    moved = api.get(f"/api/v1/species/fictus-loquax/growth-curve{suffix}")
    assert (moved.status_code, moved["Location"]) == (308, f"{CURVE}{suffix}")
    assert api.get(f"/api/v1/species/nobody-here/growth-curve{suffix}").status_code == 404
    assert api.get(f"{CURVE}{suffix}", {"revision": 9}).status_code == 404
