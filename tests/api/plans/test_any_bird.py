"""Any bird that can be typed gets an answer as documented or a refusal with a reason; never a failure of ours.

Answers are held against docs/openapi.yaml on the way out (tests/api/conftest.py).
"""

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.birds.rules import words
from api.plans.serializers.feeding_plans import FeedingPlanIn
from species.domain.vocabulary import DevelopmentalMode, FoodGuild, MilestoneKey, Skill

FIELDS = set(FeedingPlanIn().fields)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("standing_clock")]

URL = "/api/v1/feeding-plans"


def any_of(enum):
    return st.sampled_from([word.value for word in enum])


def some(**fields):
    return st.fixed_dictionaries({}, optional=fields)


masses = st.floats(0.5, 200_000) | st.floats(1, 600)
fractions = st.floats(0.01, 1)
clocks = st.integers(0, 287).map(lambda n: f"{n // 12:02d}:{n % 12 * 5:02d}")
instants = st.integers(-30 * 24 * 60, 60).map(
    lambda minutes: (
        f"2027-{4 if minutes < -1440 else 5:02d}-{1 + abs(minutes) // 1440 % 30:02d}"
        f"T{abs(minutes) % 1440 // 60:02d}:{abs(minutes) % 60:02d}:00Z"
    )
)
days = st.dates(min_value=date(2027, 3, 1), max_value=date(2027, 5, 3)).map(str)
powders = st.builds(
    lambda dry, energy: {"dry_matter_fraction": dry, "energy_kj_per_g_dm": energy}, fractions, st.floats(0.1, 40)
)
conditions = some(
    body=any_of(words.Body),
    hydration=any_of(words.Hydration),
    dehydration_fraction=st.floats(0, 0.15),
    body_condition=any_of(words.BodyCondition),
    alertness=any_of(words.Alertness),
    swallowing=any_of(words.Swallowing),
    crop=any_of(words.Crop),
    crop_content=any_of(words.CropContent),
    crop_wall=any_of(words.CropWall),
    last_feed=some(volume_ml=st.floats(0, 2000), dry_matter_fraction=fractions).flatmap(
        lambda feed: instants.map(lambda at: feed | {"at": at})
    ),
    droppings=any_of(words.Droppings),
    signs=st.lists(any_of(words.Sign), max_size=3),
)
told = {
    "age_days": st.floats(0, 1000) | st.floats(0, 60),
    "hatched_on": days,
    "mass_g": masses,
    "peak_mass_g": masses,
    "adult_mass_g": masses,
    "on": days,
    "time_zone": st.sampled_from(["Europe/Lisbon", "Australia/Lord_Howe", "America/St_Johns", "Pacific/Apia"]),
    "feeding_day": st.fixed_dictionaries({"first": clocks, "last": clocks}),
    "from": clocks,
    "formula": powders,
    "condition": conditions,
    "given": some(
        dry_matter_fraction=fractions,
        temperature_c=st.floats(-20, 100),
        volume_ml=st.floats(0.01, 2000),
        mass_g=masses,
        feeds_per_day=st.integers(1, 200),
    ),
    "milestones": st.lists(st.fixed_dictionaries({"key": any_of(MilestoneKey), "seen": st.booleans()}), max_size=4),
    "sex": any_of(words.Sex),
    "brood_size": st.integers(1, 30),
    "rearing": any_of(words.Rearing),
    "origin": any_of(words.Origin),
    "aim": any_of(words.Aim),
    "species_certainty": any_of(words.Certainty),
    "carer_skill": any_of(Skill),
    "first_feed_in_care": st.booleans(),
}
recently = st.integers(1, 14 * 60).map(
    lambda ago: f"2027-05-0{2 if ago <= 300 else 1}T{(1740 - ago) // 60 % 24:02d}:{(1740 - ago) % 60:02d}:00Z"
)
optional = {
    name: told[name]
    for name in ("time_zone", "from", "condition", "given", "sex", "rearing", "origin", "aim", "carer_skill")
} | {
    "first_feed_in_care": st.booleans(),
    "species_certainty": st.sampled_from(["certain", "certain", "probable", "unknown"]),
    "milestones": st.lists(any_of(MilestoneKey), unique=True, max_size=4).flatmap(
        lambda keys: st.lists(st.booleans(), min_size=len(keys), max_size=len(keys)).map(
            lambda seen: [{"key": key, "seen": was} for key, was in zip(keys, seen, strict=True)]
        )
    ),
    "feeding_day": st.sampled_from([("06:00", "21:00"), ("07:00", "19:00"), ("08:00", "00:00")]).map(
        lambda ends: {"first": ends[0], "last": ends[1]}
    ),
    "formula": st.builds(
        lambda dry, energy: {"dry_matter_fraction": dry, "energy_kj_per_g_dm": energy},
        st.floats(0.85, 1),
        st.floats(8, 25),
    ),
}


def likely(adult_g: float):
    """A chick of a species with this adult mass, told by somebody who makes no slips."""
    known = st.fixed_dictionaries(
        {"age_days": st.floats(0.1, 60)},
        optional={"mass_g": st.floats(0.1, 1.1).map(lambda share: max(share * adult_g, 0.5)), **optional},
    )
    return st.tuples(known, recently).map(lambda drawn: _fed_recently(*drawn))


def _fed_recently(known, at):
    last = known.get("condition", {}).get("last_feed")
    if last is not None:
        known["condition"]["last_feed"] = last | {"at": at}
    return known


unlisted = st.fixed_dictionaries(
    {
        "scientific_name": st.just("Avis ignota"),
        "order": st.sampled_from(["Passeriformes", "Psittaciformes", "Anseriformes", "Strigiformes", "Ignotiformes"]),
        "adult_mass_g": st.floats(1, 200_000),
        "developmental_mode": any_of(DevelopmentalMode),
    },
    optional={"food_guild": any_of(FoodGuild)},
)


def answered(api, body) -> int:
    response = api.post(URL, body)
    assert response.status_code in {200, 400, 422}, (body, response.content)
    if response.status_code != 200:
        for fault in response.json()["errors"]:
            assert fault["code"]
            assert len(fault["detail"]) > 10
            # A pointer to what was sent or may be sent, or to the whole.
            assert fault["pointer"] == "" or fault["pointer"].split("/")[1] in FIELDS, fault
    return response.status_code


fuzzed = settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@fuzzed
@given(data=st.data())
def test_a_likely_bird(api, built_in_species, data):
    profile = data.draw(st.sampled_from(built_in_species.profiles))
    body = {"species": profile.key} | data.draw(likely(profile.masses.adult_g.value))
    answered(api, body)


@fuzzed
@given(data=st.data())
def test_an_unlikely_bird(api, built_in_species, data):
    key = data.draw(st.sampled_from([profile.key for profile in built_in_species.profiles]))
    answered(api, {"species": key, "age_days": data.draw(told["age_days"])} | data.draw(some(**told)))


@fuzzed
@given(data=st.data())
def test_an_unlisted_bird(api, built_in_species, data):
    species = data.draw(unlisted)
    answered(api, {"unlisted_species": species} | data.draw(likely(species["adult_mass_g"])))
