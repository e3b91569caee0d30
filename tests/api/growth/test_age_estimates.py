"""``POST /age-estimates``: the shape of the contract, several species, and how it refuses."""

from datetime import UTC, datetime

import pytest

from api.web import clock
from tests.examples import example

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species")]

URL = "/api/v1/age-estimates"
SPARROW = {
    "species": "passer-domesticus",
    "mass_g": 12.5,
    "milestones": [{"key": "pins_visible", "seen": True}, {"key": "eyes_open", "seen": False}],
    "on": "2027-05-02",
}
UNLISTED = {
    "scientific_name": "Hirundo rustica",
    "order": "Passeriformes",
    "adult_mass_g": 18,
    "developmental_mode": "altricial",
}
# The fields of the contract, copied from design page 3: names fixed, more may be added.
ESTIMATE = {"days", "low_days", "high_days", "hatched_on", "likely", "used", "candidates", "computed_by"}
CANDIDATE = {"species", "probability", "days", "low_days", "high_days"}


def ask(api, **changes):
    """Ask with the sparrow above, changed; ``...`` takes a field away."""
    return api.post(URL, told(**changes), format="json")


def told(**changes):
    return {name: value for name, value in {**SPARROW, **changes}.items() if value is not ...}


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def test_a_sparrow_by_mass_and_milestones(api):
    answer = ask(api)
    assert answer.status_code == 200, answer.content
    assert answer["Cache-Control"] == "no-store"
    age = answer.json()
    assert set(age) >= ESTIMATE
    assert 0 <= age["low_days"] <= age["days"] <= age["high_days"]
    assert age["used"] == ["mass", "pins_visible", "eyes_open"]
    assert [set(candidate) for candidate in age["candidates"]] == [CANDIDATE]
    assert (age["candidates"][0]["species"], age["candidates"][0]["probability"]) == ("passer-domesticus", 1.0)
    assert all(set(day) == {"days", "probability"} for day in age["likely"])
    assert (age["computed_by"]["revision"], bool(age["computed_by"]["build"])) == (1, True)
    # HRB Table 2.2 p.25: primaries pierce the skin at 4-5 d, eyes fully open at 7-8.
    assert 4 <= age["days"] <= 8
    example("age_estimates_create", "sparrow", "A sparrow from the pavement, by weight and feathers", told(), answer)


def test_which_of_several_it_is(api):
    several = {"species": ..., "candidates": ["columba-livia", "passer-domesticus", "falco-sparverius"]}
    answer = ask(api, **several, mass_g=18.0, milestones=...)
    assert answer.status_code == 200, answer.content
    age = answer.json()
    probabilities = [candidate["probability"] for candidate in age["candidates"]]
    assert probabilities == sorted(probabilities, reverse=True)
    assert sum(probabilities) == pytest.approx(1.0, abs=0.002)
    assert {name: age[name] for name in CANDIDATE & ESTIMATE} == {
        name: age["candidates"][0][name] for name in CANDIDATE & ESTIMATE
    }
    example("age_estimates_create", "which-of-three", "Which of three species it is, by weight",
            told(**several, mass_g=18.0, milestones=...), answer)  # fmt: skip


def test_a_weight_that_one_candidate_cannot_have_rules_it_out(api):
    answer = ask(api, species=..., candidates=["passer-domesticus", "columba-livia"], mass_g=200.0, milestones=...)
    best, worst = answer.json()["candidates"]
    assert (best["species"], best["probability"]) == ("columba-livia", 1.0)
    assert (worst["species"], worst["probability"]) == ("passer-domesticus", 0.0)


def test_a_species_without_profile(api):
    age = ask(api, species=..., unlisted_species=UNLISTED, mass_g=8.0, milestones=...).json()
    assert age["candidates"][0]["species"] == "Hirundo rustica"
    assert age["computed_by"]["revision"] is None
    assert "inferred_profile" in codes(age)
    assert age["high_days"] - age["low_days"] > 3


def test_milestones_without_a_weight_and_seen_without_saying_so(api):
    age = ask(api, mass_g=..., milestones=[{"key": "pins_visible"}, {"key": "eyes_open", "seen": False}]).json()
    assert age["used"] == ["pins_visible", "eyes_open"]


def test_near_its_full_weight_it_is_at_least_so_old(api):
    assert "age_only_at_least" in codes(ask(api, mass_g=30.0, milestones=...).json())


def test_today_is_the_default_day(api):
    with clock.standing_at(datetime(2027, 5, 2, 23, 30, tzinfo=UTC)):
        assert ask(api, on=...).json() == ask(api).json()


def test_same_input_same_bytes(api):
    assert ask(api).content == ask(api).content


def seen(*keys, **more):
    return [{"key": key, **more} for key in keys]


PAIR = ["passer-domesticus", "columba-livia"]
BAD = [
    ("mass nought", {"mass_g": 0}, 422, "/mass_g", "greater"),
    ("mass below nought", {"mass_g": -3}, 422, "/mass_g", "greater"),
    ("mass in text", {"mass_g": "12.5"}, 400, "/mass_g", "number"),
    ("true for a mass", {"mass_g": True}, 400, "/mass_g", "number"),
    ("mass of an elephant", {"mass_g": 4e6}, 422, "/mass_g", "200000"),
    ("mass of a pigeon", {"mass_g": 300}, 422, "/mass_g", "decimal"),
    ("mass of a fly", {"mass_g": 0.1}, 422, "/mass_g", "decimal"),
    ("mass that none has", {"species": ..., "candidates": PAIR, "mass_g": 3000}, 422, "/mass_g", "decimal"),
    ("unknown species", {"species": "passer-domestcus"}, 422, "/species", "passer-domesticus"),
    ("unknown candidate", {"species": ..., "candidates": ["columba-livia", "passer-domestcus"]}, 422,
     "/candidates/1", "passer-domesticus"),
    ("no species", {"species": ...}, 400, "/species", "candidates"),
    ("species and candidates", {"candidates": PAIR}, 422, "/candidates", "not both"),
    ("species and unlisted", {"unlisted_species": UNLISTED}, 422, "/candidates", "not both"),
    ("one candidate", {"species": ..., "candidates": PAIR[:1]}, 422, "/candidates", "2"),
    ("21 candidates", {"species": ..., "candidates": ["a-b"] * 21}, 422, "/candidates", "20"),
    ("a candidate twice", {"species": ..., "candidates": [*PAIR, PAIR[0]]}, 422, "/candidates", "passer-domesticus"),
    ("candidates no list", {"species": ..., "candidates": "passer-domesticus"}, 400, "/candidates", "list"),
    ("candidate null", {"species": ..., "candidates": [None, "columba-livia"]}, 400, "/candidates/0", ""),
    ("no evidence", {"mass_g": ..., "milestones": ...}, 400, "/mass_g", "milestones"),
    ("empty evidence", {"mass_g": ..., "milestones": []}, 422, "/milestones", "mass_g"),
    ("nothing of use", {"mass_g": ..., "milestones": seen("waterproof")}, 422, "/milestones", "pins_visible"),
    ("a candidate for which nothing is of use", {"species": ..., "candidates": PAIR, "mass_g": ...,
     "milestones": seen("pins_visible")}, 422, "/candidates/1", "mass_g"),
    ("unknown milestone", {"milestones": seen("eyes_opn")}, 400, "/milestones/0/key", "eyes_open"),
    ("milestone without key", {"milestones": [{"seen": True}]}, 400, "/milestones/0/key", "required"),
    ("yes for seen", {"milestones": seen("eyes_open", seen="yes")}, 400, "/milestones/0/seen", "true or false"),
    ("seen and not seen", {"milestones": [*seen("eyes_open"), *seen("eyes_open", seen=False)]}, 422,
     "/milestones/1/seen", "once"),
    ("63 milestones", {"milestones": seen("eyes_open") * 63}, 422, "/milestones", "62"),
    ("no such day", {"on": "2027-02-30"}, 422, "/on", "no such"),
    ("an instant for a day", {"on": "2027-05-02T06:00:00Z"}, 400, "/on", "YYYY-MM-DD"),
    ("unknown field", {"mass": 12.5}, 400, "/mass", "mass_g"),
    ("order that has no growth line", {"species": ..., "unlisted_species": {**UNLISTED, "order": "Cuculiformes"},
     "milestones": ...}, 422, "/milestones", "another species"),
    ("mass that no group has", {"species": ..., "unlisted_species": {**UNLISTED, "adult_mass_g": 150_000}}, 422,
     "/unlisted_species/adult_mass_g", ""),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "status", "pointer", "says"), [row[1:] for row in BAD], ids=[r[0] for r in BAD])
def test_bad_input_says_what_and_how_to_mend_it(api, changes, status, pointer, says):
    answer = ask(api, **changes)
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    assert pointer in [fault["pointer"] for fault in answer.json()["errors"]]
    fault = next(fault for fault in answer.json()["errors"] if fault["pointer"] == pointer)
    assert says in fault["detail"] or says in fault["code"]
