"""Real chicks of known fate, weighed through the service as their finders weighed them.

Tree swallows of one colony (Tachycineta bicolor, chick_tree_swallow_2017.csv; adult mass 21.2 g, growth.md section 3).
The species has no profile: what is known of it is what a carer tells.
"""

import csv

import pytest

from tests.api.alerts.conftest import HATCHED, make_chick, morning
from tests.reference_data import needs_reference

SWALLOW = {
    "scientific_name": "Tachycineta bicolor",
    "order": "Passeriformes",
    "adult_mass_g": 21.2,
    "developmental_mode": "altricial",
    "food_guild": "aerial_insectivore",
}
#: Chicks that died after their last weighing, which showed a loss of 15 % on day 10 and of 19 % on day 12; and chicks
#: that fledged.
DIED = ("S135", "S089")
FLEDGED = ("S006", "S007", "S008", "S009")


def weights(chick_id):
    with needs_reference("data", "chick_tree_swallow_2017.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["chick_id"] == chick_id and row["mass_g"]]
    return rows, {
        float(row["age_d"]): float(row["mass_g"]) for row in sorted(rows, key=lambda row: float(row["age_d"]))
    }


@pytest.fixture
def swallow(api, two, site, django_capture_on_commit_callbacks):
    return make_chick(
        api,
        two,
        site,
        django_capture_on_commit_callbacks,
        species=None,
        unlisted_species=SWALLOW,
        intake={"at": morning(1)},
        hatched_at=HATCHED,
    )


@pytest.mark.parametrize("chick_id", DIED)
def test_a_chick_that_died_had_an_alert_at_its_last_weighing(swallow, chick_id):
    rows, grams = weights(chick_id)
    assert (rows[0]["fledged"], rows[0]["why_failed"]) == ("0.0", "NESTLINGS DIED")
    for day, mass_g in grams.items():
        swallow.weigh(day, mass_g)
    assert "weight_loss" in swallow.codes()
    (loss,) = swallow.alerts("?code=weight_loss")
    assert loss["opened_at"] <= morning(max(grams)).isoformat().replace("+00:00", "Z")


@pytest.mark.parametrize("chick_id", FLEDGED)
def test_a_chick_that_fledged_had_none_of_a_loss_while_it_grew(swallow, chick_id):
    rows, grams = weights(chick_id)
    assert rows[0]["fledged"] == "1.0"
    for day, mass_g in grams.items():
        if day <= 10:
            swallow.weigh(day, mass_g)
    assert not {"weight_loss", "no_gain"} & set(swallow.codes("?state=any"))
