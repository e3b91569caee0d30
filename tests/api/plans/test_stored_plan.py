"""``GET /birds/{id}/feeding-plan``: the plan of a stored bird, from all that was recorded of it."""

from datetime import time, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.birds import services
from api.plans.selectors.stored import plan_of, with_plans
from api.tenancy.scope import network_scope
from api.web import clock
from tests.factories import ANYONE, bearer, make_bird, make_site, make_token, make_two_networks, make_weighing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species")]

#: A cockatiel on the curve of growth.md section 3, its days 3 to 12.
GRAMS = (8.3, 10.1, 12.3, 14.9, 18.0, 21.5, 25.5, 29.9, 34.7, 39.8)
#: The same that stands still from day 8 on.
STALLED = (*GRAMS[:6], 21.5, 21.4, 21.4, 21.4)


@pytest.fixture
def two(standing_clock):
    return make_two_networks()


@pytest.fixture
def site(two):
    return make_site(two.own)


@pytest.fixture
def plan(api, two):
    caller = bearer(make_token(two.member, "plans:read"))

    def ask(bird, **query):
        return api.get(f"/api/v1/birds/{bird.uid}/feeding-plan", query, **caller)

    return ask


def weighed(site, grams=GRAMS, *, until=None, **bird):
    """A bird of the site, weighed each morning until now."""
    bird = make_bird(site, **bird)
    until = until or clock.now()
    for n, gram in enumerate(grams):
        make_weighing(bird, gram, at=until - timedelta(days=len(grams) - 1 - n))
    return bird


def record(what, bird, hours_ago=0.0, **told):
    with network_scope(bird.network_id):
        at = clock.now() - timedelta(hours=hours_ago)
        services_of = {
            "feed": services.feed_record,
            "crop_check": services.crop_check_record,
            "milestone": services.milestone_record,
        }
        instant = "observed_at" if what == "milestone" else "at"
        return services_of[what](caller=ANYONE, bird_id=bird.uid, **{instant: at}, **told)[0]


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def test_a_plan_with_the_bird_it_is_for(plan, site):
    bird = weighed(site)
    response = plan(bird)
    assert response.status_code == 200, response.content
    answer = response.json()
    assert answer["bird_id"] == str(bird.uid)
    assert answer["species"]["key"] == "nymphicus-hollandicus"
    assert (answer["decision"], answer["mass"]["value_g"], answer["mass"]["basis"]) == ("feed", 39.8, "measured")
    assert (answer["age"]["days"], answer["age"]["basis"]) == (12.0, "hatched_on")
    assert (answer["on"], answer["time_zone"]) == ("2027-05-02", "Europe/Lisbon")
    assert 0 < answer["feed"]["volume_ml"] <= 0.10 * 39.8
    assert {"body", "hydration", "crop"} <= {check["code"] for check in answer["checks"]}
    assert response["Cache-Control"] == "private, no-cache"
    assert plan(bird)["ETag"] == response["ETag"]


def test_it_is_sent_once_until_it_changes(api, two, site, plan):
    bird = weighed(site)
    caller = bearer(make_token(two.member, "plans:read"))
    address = f"/api/v1/birds/{bird.uid}/feeding-plan"
    assert api.get(address, HTTP_IF_NONE_MATCH=plan(bird)["ETag"], **caller).status_code == 304


def test_a_new_weighing_changes_plan_and_growth_at_once(api, two, site, plan):
    bird = weighed(site, GRAMS[:9], until=clock.now() - timedelta(hours=25))
    caller = bearer(make_token(two.member))
    growth = f"/api/v1/birds/{bird.uid}/growth"
    before, grown = plan(bird).json(), api.get(growth, **caller).json()
    sent = {
        "id": "00000000-0000-4000-8000-000000000001",
        "bird_id": str(bird.uid),
        "at": clock.now().isoformat(),
        "mass_g": 39.8,
        "context": "before_first_feed",
    }
    assert api.post("/api/v1/weighings", sent, format="json", **caller).status_code == 201
    after, grown_since = plan(bird).json(), api.get(growth, **caller).json()
    assert (before["mass"]["value_g"], after["mass"]["value_g"]) == (34.7, 39.8)
    assert after["feed"]["volume_ml"] > before["feed"]["volume_ml"]
    assert len(grown_since["points"]) == len(grown["points"]) + 1
    assert grown_since["points"][-1]["weighing_id"] == sent["id"]


@pytest.mark.parametrize("slip", [398.0, 3.98], ids=["ten-times", "a-tenth"])
def test_a_slip_that_nobody_has_asked_about_never_reaches_a_plan(plan, site, slip):
    """Hazard 30."""
    bird = weighed(site, GRAMS[:9], until=clock.now() - timedelta(hours=24))
    before = plan(bird).json()
    make_weighing(bird, slip)
    answer = plan(bird).json()
    assert answer["mass"]["value_g"] == before["mass"]["value_g"] == 34.7
    assert answer["feed"] == before["feed"]
    assert "implausible_weight" in codes(answer)


def test_a_slip_alone_leaves_the_bird_to_be_weighed(plan, site):
    bird = make_bird(site)
    make_weighing(bird, 400.0)
    answer = plan(bird).json()
    assert (answer["decision"], answer["mass"]["basis"]) == ("weigh_first", "low_end_of_expected")
    assert answer["feed"]["provisional"]
    assert "implausible_weight" in codes(answer)


def test_an_old_weight_does_not_pass_for_todays(plan, site):
    """Practice, rule 1; hazard 8."""
    bird = weighed(site, GRAMS[:8], until=clock.now() - timedelta(days=2))
    answer = plan(bird).json()
    assert answer["decision"] == "weigh_first"
    assert answer["feed"]["provisional"]
    assert answer["mass"]["basis"] == "low_end_of_own_record"
    assert answer["mass"]["value_g"] <= 29.9
    assert answer["feed"]["volume_ml"] <= 0.10 * 29.9
    assert "/mass/value_g" in [entry["field"] for entry in answer["basis"]]
    overdue = next(caution for caution in answer["cautions"] if caution["code"] == "weighing_overdue")
    assert "2 days" in overdue["text"]
    assert "29.9 g" in overdue["text"]


def test_a_bird_that_hardly_grows_any_more_is_weighed_more_seldom(plan, site):
    told = {"hatched_on": (clock.now() - timedelta(days=45)).date(), "intake": {"at": clock.now() - timedelta(days=40)}}
    bird = weighed(site, (87.0, 87.0, 87.0), until=clock.now() - timedelta(hours=50), **told)
    assert plan(bird).json()["mass"]["basis"] == "measured"


def test_a_weight_with_a_full_crop_gives_way_to_an_emptier_one_of_the_day(plan, site):
    bird = weighed(site, GRAMS, until=clock.now() - timedelta(hours=2))
    make_weighing(bird, 43.0, context="after_feed")
    assert plan(bird).json()["mass"]["value_g"] == 39.8
    make_weighing(bird, 40.4, context="unknown")
    assert plan(bird).json()["mass"]["value_g"] == 40.4


def test_no_weight_at_all_is_a_small_feed_to_bridge_an_hour(plan, site):
    answer = plan(make_bird(site)).json()
    assert answer["decision"] == "weigh_first"
    assert answer["mass"]["basis"] == "low_end_of_expected"
    assert "weighing_overdue" not in codes(answer)


def test_without_age_and_weight_there_is_no_plan(plan, site):
    response = plan(make_bird(site, hatched_on=None))
    assert response.status_code == 409
    assert response.json()["errors"][0]["code"] == "age_missing"


def test_an_age_that_nobody_told_is_estimated_and_that_is_said(plan, site):
    answer = plan(weighed(site, GRAMS[:3], hatched_on=None)).json()
    assert answer["age"]["basis"] == "estimated"
    assert answer["age"]["low_days"] < answer["age"]["days"] < answer["age"]["high_days"]
    assert "age_estimated" in codes(answer)


def test_an_age_told_as_an_estimate_keeps_its_spread(plan, site):
    on = clock.now().date() - timedelta(days=2)
    bird = weighed(site, GRAMS, hatched_on=None, age_estimate={"on": on, "days": 10.0, "sd_days": 1.0})
    age = plan(bird).json()["age"]
    # From noon in Lisbon of the day told to 06:00 there today: 1.75 d. 90 % at a standard deviation of 1 d is 1.6 d.
    assert age == {"days": 11.8, "basis": "estimated", "low_days": 10.2, "high_days": 13.4}


@pytest.mark.parametrize(
    ("looks", "feeds", "decision"),
    [
        ([("not_emptied", 1.0)], [("routine", 5.0)], "wait_for_crop"),
        ([("not_emptied", 1.0)], [("routine", 7.0)], "see_vet"),
        ([("not_emptied", 6.0)], [("routine", 5.0)], "feed"),
        ([("full", 1.0)], [("routine", 1.5)], "wait_for_crop"),
        ([("full", 3.0)], [("routine", 3.5)], "feed"),
        ([("not_emptied", 3.0)], [("routine", 4.0)], "wait_for_crop"),
        ([("distended", 9.0)], [], "see_vet"),
        ([("empty", 0.5)], [("routine", 4.0)], "feed"),
    ],
    ids=[
        "late", "past-the-longest-wait", "fed-since", "full", "full-three-hours-ago", "late-three-hours-ago",
        "stretched-nine-hours-ago", "empty",
    ],
)  # fmt: skip
def test_the_last_look_at_the_crop_counts_while_it_speaks_for_the_next_feed(plan, site, looks, feeds, decision):
    with clock.standing_at(clock.now() + timedelta(hours=9)):  # by day
        bird = weighed(site, until=clock.now() - timedelta(hours=9))
        for purpose, hours in feeds:
            record("feed", bird, hours, purpose=purpose, volume_ml=3)
        for crop, hours in looks:
            record("crop_check", bird, hours, crop=crop)
        answer = plan(bird).json()
    assert answer["decision"] == decision
    asked = "crop" in {check["code"] for check in answer["checks"]}
    assert asked is (decision == "feed" and looks[0][0] != "empty")


def test_a_blistered_crop_is_a_vets_until_somebody_looks_again(plan, site):
    bird = weighed(site)
    record("crop_check", bird, 80.0, crop="empty", crop_wall="blistered")
    record("feed", bird, 20.0, volume_ml=3)
    assert plan(bird).json()["decision"] == "see_vet"
    record("crop_check", bird, 1.0, crop="empty", crop_wall="normal")
    assert plan(bird).json()["decision"] == "feed"


def test_until_a_feed_is_recorded_the_next_is_the_first_in_care(plan, site):
    bird = weighed(site, GRAMS[9:])
    first = plan(bird).json()
    assert first["feed"]["volume_ml"] <= 0.08 * 39.8
    assert "mouth" in {check["code"] for check in first["checks"]}
    record("feed", bird, 3.0, volume_ml=3)
    assert "mouth" not in {check["code"] for check in plan(bird).json()["checks"]}


def test_a_wild_bird_rests_when_it_comes_and_not_for_ever(plan, site):
    new = make_bird(site, origin="wild", intake={"at": clock.now() - timedelta(minutes=10)})
    assert plan(new).json()["decision"] == "rest_first"
    with clock.standing_at(clock.now() + timedelta(hours=2)):
        assert plan(new).json()["decision"] == "weigh_first"
    make_weighing(new, 39.8)
    assert plan(new).json()["decision"] == "feed"


def test_no_gain_and_a_slow_crop_holds_the_feed_and_asks_a_vet(plan, site):
    """Hazard 23."""
    thriving, empty, stalled = weighed(site), weighed(site, STALLED), weighed(site, STALLED)
    for bird, crop in ((thriving, "residue"), (empty, "empty"), (stalled, "residue")):
        record("feed", bird, 5.0, volume_ml=2)
        record("crop_check", bird, 0.2, crop=crop)
    fine, free, slow = (plan(bird).json() for bird in (thriving, empty, stalled))
    assert not fine["vet"]["needed"]
    assert slow["vet"]["needed"]
    assert slow["decision"] == "feed"
    held = next(entry for entry in slow["basis"] if entry["field"] == "/feed/volume_ml")
    assert held["inputs"]["hold_volume"]
    assert slow["feed"]["volume_ml"] <= free["feed"]["volume_ml"]
    assert "no_gain" in codes(slow)


def test_a_bird_that_does_not_gain_gets_no_larger_feed_before_its_crop_was_felt(plan, site):
    bird = weighed(site, STALLED)
    record("feed", bird, 4.0, volume_ml=2)

    def held():
        return next(e for e in plan(bird).json()["basis"] if e["field"] == "/feed/volume_ml")["inputs"]["hold_volume"]

    assert held()
    record("crop_check", bird, 0.2, crop="empty")
    assert not held()


def test_a_full_crop_and_no_gain_is_a_vets(plan, site):
    """Hazard 24."""
    with clock.standing_at(clock.now() + timedelta(hours=9)):
        bird = weighed(site, STALLED, until=clock.now() - timedelta(hours=9))
        record("feed", bird, 5.0, volume_ml=2)
        record("crop_check", bird, 0.2, crop="full")
        answer = plan(bird).json()
    assert answer["decision"] == "see_vet"
    assert "does not gain" in " ".join(answer["vet"]["reasons"])
    assert answer["feed"] is None


def being_weaned(site, grams):
    told = {"hatched_on": (clock.now() - timedelta(days=56)).date(), "intake": {"at": clock.now() - timedelta(days=30)}}
    bird = weighed(site, grams, **told)
    record("milestone", bird, 48.0, key="self_feeds_some")
    record("feed", bird, 20.0, purpose="weaning", food="seed")
    return bird


def test_a_weaning_loss_beyond_the_limit_is_a_step_back(plan, site):
    """Hazard 29: the cockatiel's profile allows a tenth."""
    fine = plan(being_weaned(site, (92.0, 91.0, 90.0, 88.0))).json()
    assert fine["weaning"]["phase"] == "stepping_down"
    assert fine["weaning"]["drop_feed"] == "midday"
    lost = plan(being_weaned(site, (92.0, 90.0, 85.0, 82.0))).json()
    assert lost["weaning"]["phase"] == "step_back"
    assert lost["weaning"]["drop_feed"] is None
    assert "weaning_loss" in codes(lost)


def test_no_feed_is_dropped_of_a_bird_that_was_not_weighed(plan, site):
    bird = being_weaned(site, (92.0, 91.0, 90.0, 88.0))
    with clock.standing_at(clock.now() + timedelta(days=4)):
        answer = plan(bird).json()
    assert answer["weaning"]["phase"] == "stepping_down"
    assert answer["weaning"]["drop_feed"] is None


@pytest.mark.parametrize("response", ["refused", "slow"])
def test_feeds_that_were_not_taken_hold_the_next(plan, site, response):
    bird = weighed(site)
    record("feed", bird, 4.0, response=response, volume_ml=1)
    assert "food_slow" in codes(plan(bird).json())


def test_a_feed_that_came_back_is_a_vets(plan, site):
    bird = weighed(site)
    record("feed", bird, 4.0, response="regurgitated", volume_ml=3)
    assert plan(bird).json()["decision"] == "see_vet"
    record("feed", bird, 0.5, response="normal", volume_ml=2)
    assert plan(bird).json()["decision"] == "feed"


def test_what_it_shows_tells_its_stage(plan, site):
    bird = weighed(site)
    before = plan(bird).json()["stage"]
    record("milestone", bird, 1.0, key="pins_unsheathing")
    assert plan(bird).json()["stage"] != before
    record("milestone", bird, 0.5, key="pins_unsheathing", seen=False)
    assert plan(bird).json()["stage"] == before


def test_the_site_gives_zone_and_feeding_day(two, plan):
    far = make_site(two.own, time_zone="Pacific/Auckland", feeding_day={"first": time(5, 30), "last": time(21, 30)})
    answer = plan(weighed(far)).json()
    assert (answer["time_zone"], answer["on"]) == ("Pacific/Auckland", "2027-05-02")
    assert answer["timetable"][0] == "2027-05-02T05:30:00+12:00"


def test_the_powder_is_the_birds_own_or_its_kitchens(two, site, plan):
    from api.kitchen.models import Formula, Kitchen

    bird = weighed(site)
    usual = plan(bird).json()["formula"]
    with network_scope(two.own):
        for key, energy in (("thin", 12.0), ("rich", 21.0)):
            Formula.objects.create(
                network=two.own, key=key, name=key, dry_matter_fraction=0.9, energy_kj_per_g_dm=energy
            )
        Kitchen.objects.update_or_create(site=site, network=two.own, defaults={"formula_key": "thin"})
    thin = plan(bird).json()["formula"]
    with network_scope(two.own):
        bird.formula_key = "rich"
        bird.save()
    rich = plan(bird).json()["formula"]
    per_solids = [f["energy_kj_per_ml"] / f["dry_matter_fraction"] for f in (thin, usual, rich)]
    assert per_solids == sorted(per_solids)
    with network_scope(two.own):
        bird.formula_key = "no-longer-there"
        bird.save()
    answer = plan(bird).json()
    assert answer["formula"] == usual
    assert "formula_unknown" in codes(answer)


def test_a_bird_that_has_left_has_no_plan(plan, site):
    bird = weighed(site)
    with network_scope(bird.network_id):
        services.outcome_record(bird, caller=ANYONE, kind="released", at=clock.now())
    response = plan(bird)
    assert response.status_code == 409
    assert response.json()["errors"][0]["code"] == "bird_left_care"


@pytest.mark.parametrize(
    ("query", "status"),
    [
        ({"on": "2027-05-03"}, 200),
        ({"on": "2027-05-01"}, 200),
        ({"on": "2027-04-01"}, 422),
        ({"on": "2037-04-01"}, 422),
        ({"on": "9999-12-31"}, 422),
        ({"on": "0001-01-01"}, 422),
        ({"on": "today"}, 400),
        ({"at": "2027-05-03"}, 400),
    ],
)
def test_another_day(plan, site, query, status):
    response = plan(weighed(site), **query)
    assert response.status_code == status, response.content
    if status == 422:
        assert response.json()["errors"][0]["pointer"] == "?on"


def test_a_plan_for_an_earlier_day_knows_nothing_later(plan, site):
    answer = plan(weighed(site), on="2027-04-30").json()
    assert answer["mass"]["value_g"] == 29.9


def test_tomorrows_plan_waits_for_tomorrows_weight(plan, site):
    answer = plan(weighed(site), on="2027-05-03").json()
    assert (answer["decision"], answer["mass"]["basis"]) == ("weigh_first", "low_end_of_own_record")


def test_a_species_without_a_profile(plan, site):
    told = {
        "scientific_name": "Hirundo rustica",
        "order": "Passeriformes",
        "adult_mass_g": 18.0,
        "developmental_mode": "altricial",
        "food_guild": "aerial_insectivore",
    }
    bird = make_bird(site, species=None, unlisted_species=told, hatched_on=clock.now().date() - timedelta(days=5))
    make_weighing(bird, 6.3)
    answer = plan(bird).json()
    assert answer["species"]["key"] is None
    assert answer["computed_by"]["revision"] is None
    assert "inferred_profile" in codes(answer)


def test_birds_of_others_are_not_there(api, two, site):
    bird = weighed(site)
    address = f"/api/v1/birds/{bird.uid}/feeding-plan"
    assert api.get(address, **bearer(make_token(two.stranger, "plans:read"))).status_code == 404
    assert api.get(address, **bearer(make_token(two.member, "birds:read"))).status_code == 403
    assert api.get(address).status_code == 401


def test_queries_do_not_grow_with_the_records(plan, site):
    counts = []
    for number in (3, 30):
        bird = make_bird(site)
        for n in range(number):
            make_weighing(bird, 34.0, at=clock.now() - timedelta(hours=number - n))
            record("feed", bird, number - n, volume_ml=3)
            record("crop_check", bird, number - n, crop="empty")
        plan(bird)
        with CaptureQueriesContext(connection) as queries:
            assert plan(bird).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_many_plans_take_as_many_queries_as_one(two, site):
    counts = []
    for number in (1, 4):
        birds = [weighed(site, GRAMS[-3:]) for _ in range(number)]
        with network_scope(two.own), CaptureQueriesContext(connection) as queries:
            with_plans(birds)
            assert [plan_of(bird)["decision"] for bird in birds] == ["feed"] * number
        counts.append(len(queries))
    assert counts[0] == counts[1]
