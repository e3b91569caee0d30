"""/api/v1/birds over HTTP."""

from datetime import timedelta
from uuid import UUID, uuid4

import pytest

from api.outbox.models import Change, Event, RecordVersion
from api.tenancy.scope import network_scope
from api.web import clock
from species.models import FormerKey, SpeciesProfile
from tests.api.birds.conftest import key, match, problem, refused
from tests.factories import bearer, make_bird, make_member, make_token, make_weighing

pytestmark = pytest.mark.django_db

BIRDS = "/api/v1/birds"
FOUNDLING = {
    "id": "0196a1f0-5c3b-7e21-9d4a-3f6f0c2b8e17",
    "name": "Pip",
    "species": "nymphicus-hollandicus",
    "species_certainty": "probable",
    "mark": {"kind": "ring", "colour": "blue", "code": "A 12"},
    "sex": "female",
    "strain": "lutino",
    "adult_mass_g": 95.5,
    "age_estimate": {"on": "2027-05-01", "days": 11.5, "sd_days": 1.5},
    "intake": {
        "at": "2027-04-30T18:00:00+01:00",
        "reason": "fell from the nest box",
        "located_at": "Rua do Poço 4",
        "finder_fed": "bread",
    },
    "origin": "captive",
    "aim": "breeding",
    "rearing": "topped_up",
    "brood_size": 4,
    "isolation": "quarantine",
    "formula_key": "parrot-hand-feeding",
    "note": "Bites.\nTwo people.",
}


def admit(api, caller, body, **headers):
    return api.post(BIRDS, body, **caller, **headers)


def admitted(api, caller, site, **fields):
    body = {"name": "Pip", "site_id": str(site.uid), "species": "columba-livia", **fields}
    answer = admit(api, caller, {name: value for name, value in body.items() if value is not ...}, **key())
    assert answer.status_code == 201, answer.content
    return answer.json()


@pytest.fixture
def formula():
    from species.selectors import formula_list

    return formula_list()[0].key


def test_a_bird_as_told(api, site, caller, formula):
    body = FOUNDLING | {"site_id": str(site.uid), "formula_key": formula}
    answer = admit(api, caller, body)
    assert (answer.status_code, answer["ETag"]) == (201, '"1"'), answer.content
    assert answer["Location"] == f"{BIRDS}/{FOUNDLING['id']}"
    assert answer.json() == {
        **body,
        "version": 1,
        "unlisted_species": None,
        "hatched_on": None,
        "hatched_at": None,
        "intake": {**body["intake"], "at": "2027-04-30T17:00:00Z"},
        "outcome": None,
        "recorded_at": "2027-05-02T05:00:00Z",
        "changed_at": "2027-05-02T05:00:00Z",
    }
    read = api.get(answer["Location"], **caller)
    assert (read.json(), read["ETag"]) == (answer.json(), '"1"')
    assert api.get(BIRDS, **caller).json() == {"results": [answer.json()], "next": None}


def test_what_is_not_told_is_unknown_and_intake_is_now(api, site, caller):
    told = admitted(api, caller, site)
    assert UUID(told["id"]).version == 7
    assert told["intake"] == {
        "at": "2027-05-02T05:00:00Z",
        "reason": None,
        "located_at": None,
        "finder_fed": None,
    }
    defaults = ("species_certainty", "sex", "origin", "aim", "rearing", "isolation")
    assert [told[name] for name in defaults] == ["certain", "unknown", "unknown", "undecided", "hand", "none"]
    for name in ("mark", "strain", "adult_mass_g", "hatched_on", "hatched_at", "age_estimate", "formula_key"):
        assert told[name] is None, name


def test_a_species_without_a_profile_and_one_that_nobody_knows(api, site, caller):
    warbler = {
        "scientific_name": "Sylvia borin",
        "order": "Passeriformes",
        "adult_mass_g": 18.5,
        "developmental_mode": "altricial",
    }
    told = admitted(api, caller, site, species=..., unlisted_species=warbler)
    assert (told["species"], told["unlisted_species"]) == (None, warbler)
    told = admitted(api, caller, site, species=..., species_certainty="unknown")
    assert (told["species"], told["unlisted_species"], told["species_certainty"]) == (None, None, "unknown")


def test_a_renamed_species_is_taken_under_its_new_key(api, site, caller):
    profile = SpeciesProfile.objects.get(key="columba-livia")
    FormerKey.objects.create(key="columba-affinis", profile=profile)
    body = {"id": str(uuid4()), "name": "Pip", "site_id": str(site.uid), "species": "columba-affinis"}
    first = admit(api, caller, body)
    assert (first.status_code, first.json()["species"]) == (201, "columba-livia")
    again = admit(api, caller, body)
    assert (again.status_code, again.json()) == (200, first.json())


def test_a_bird_sent_again_an_hour_later_is_the_same_though_its_intake_was_now(api, site, caller, standing_clock):
    body = {"id": str(uuid4()), "name": "Pip", "site_id": str(site.uid), "species": "columba-livia"}
    first = admit(api, caller, body)
    with clock.standing_at(standing_clock + timedelta(hours=1)):
        again = admit(api, caller, body)
        assert (again.status_code, again.json()) == (200, first.json())
        refused(admit(api, caller, body | {"name": "Pop"}), 409, "id_taken", "/id")
    with network_scope(site.network_id):
        assert Event.objects.filter(name="bird.admitted").count() == 1


def test_the_lists_filters(api, site, carer, caller):
    _, home, _ = carer
    make_bird(site, name="Pip")
    pigeon = make_bird(site, name="Dove", species="columba-livia")
    api.put(
        f"{BIRDS}/{pigeon.uid}/outcome",
        {"kind": "released", "at": "2027-05-02T04:00:00Z"},
        **caller,
        **match(1),
    )

    def names(query):
        return {bird["name"] for bird in api.get(f"{BIRDS}?{query}", **caller).json()["results"]}

    assert names("") == {"Ana's own", "Pip", "Dove"}
    assert names("in_care=true") == {"Ana's own", "Pip"}
    assert names("in_care=false") == {"Dove"}
    assert names(f"site_id={site.uid}") == {"Pip", "Dove"}
    assert names(f"site_id={home.uid}&species=nymphicus-hollandicus") == {"Ana's own"}
    assert names("species=corvus-corax") == set()
    assert names(f"site_id={uuid4()}") == set()


@pytest.mark.parametrize(
    ("query", "status", "code", "pointer"),
    [
        ("site_id=nest", 400, "malformed", "?site_id"),
        ("in_care=yes", 400, "wrong_type", "?in_care"),
        ("bird=1", 400, "unknown_parameter", "?bird"),
        ("limit=0", 400, "page_out_of_range", "?limit"),
        ("cursor=%00", 422, "control_character", "?cursor"),
        ("cursor=abc", 400, "invalid_cursor", "?cursor"),
    ],
)
def test_a_query_that_is_none(api, two, caller, query, status, code, pointer):
    refused(api.get(f"{BIRDS}?{query}", **caller), status, code, pointer)


def test_pages_by_cursor(api, site, caller):
    for _ in range(5):
        make_bird(site)
    first = api.get(f"{BIRDS}?limit=3", **caller).json()
    second = api.get(f"{BIRDS}?limit=3&cursor={first['next']}", **caller).json()
    ids = [bird["id"] for bird in first["results"] + second["results"]]
    assert (len(ids), len(set(ids)), second["next"]) == (5, 5, None)


def test_a_correction_keeps_what_was_there_and_tells_of_it(api, two, site, caller, bird):
    address = f"{BIRDS}/{bird.uid}"
    answer = api.patch(
        address,
        {"name": "Pippa", "sex": "female", "intake": {"reason": "cat nearby"}, "mark": {"colour": "red"}},
        **caller,
        **match(1),
    )
    assert (answer.status_code, answer["ETag"]) == (200, '"2"'), answer.content
    told = answer.json()
    assert (told["name"], told["sex"], told["mark"], told["version"]) == ("Pippa", "female", {"colour": "red"}, 2)
    assert told["intake"]["reason"] == "cat nearby"
    assert told["intake"]["at"] == "2027-04-25T05:00:00Z"
    versions = api.get(f"{address}/versions", **caller).json()["results"]
    assert [(version["version"], version["data"]["name"]) for version in versions] == [(1, "Pip"), (2, "Pippa")]
    assert versions[1]["by"] == str(two.member.user)
    assert api.patch(address, {"name": "Pippa"}, **caller, **match(2))["ETag"] == '"2"'
    with network_scope(two.own):
        event = Event.objects.get(name="bird.updated")
        assert event.data == {
            "id": str(bird.uid),
            "network_id": str(two.own.pk),
            "href": address,
            "version": 2,
            "bird_id": str(bird.uid),
            "site_id": str(site.uid),
        }
        assert list(RecordVersion.objects.filter(kind="bird").values_list("version", flat=True)) == [1, 2]
        assert [(c.op, c.version, c.site_id) for c in Change.objects.filter(kind="bird")] == [
            ("put", 1, site.uid),
            ("put", 2, site.uid),
        ]


def test_what_is_told_anew_takes_the_place_of_what_excludes_it(api, caller, bird):
    address = f"{BIRDS}/{bird.uid}"
    estimate = {"on": "2027-05-01", "days": 9.0, "sd_days": 1.0}
    told = api.patch(address, {"age_estimate": estimate}, **caller, **match(1)).json()
    assert (told["hatched_on"], told["age_estimate"]) == (None, estimate)
    told = api.patch(address, {"age_estimate": None, "hatched_on": "2027-04-21"}, **caller, **match(2)).json()
    assert (told["hatched_on"], told["age_estimate"]) == ("2027-04-21", None)
    told = api.patch(address, {"species": None, "species_certainty": "unknown"}, **caller, **match(3)).json()
    assert (told["species"], told["species_certainty"]) == (None, "unknown")
    refused(
        api.patch(address, {"hatched_at": "2027-04-21T05:00:00Z", "age_estimate": estimate}, **caller, **match(4)),
        422,
        "one_of_two",
        "/age_estimate",
    )
    refused(
        api.patch(address, {"species_certainty": "certain"}, **caller, **match(4)), 422, "species_missing", "/species"
    )


def test_changes_ask_for_the_version_that_was_seen(api, caller, bird):
    address = f"{BIRDS}/{bird.uid}"
    outcome = {"kind": "died", "at": "2027-05-02T04:00:00Z"}
    for send, body, where in (
        (api.patch, {"name": "Pop"}, address),
        (api.delete, {}, address),
        (api.put, outcome, f"{address}/outcome"),
        (api.delete, {}, f"{address}/outcome"),
    ):
        assert send(where, body, **caller).status_code == 428
        stale = send(where, body, **caller, **match(7))
        assert (stale.status_code, stale["ETag"]) == (412, '"1"')
    assert api.get(address, **caller).json()["version"] == 1


def test_a_bird_that_should_never_have_been_goes_one_with_records_stays(api, two, caller, bird):
    address = f"{BIRDS}/{bird.uid}"
    weighing = make_weighing(bird, 36.2)
    refused(api.delete(address, **caller, **match(1)), 409, "bird_has_records")
    assert api.delete(f"/api/v1/weighings/{weighing.uid}", **caller, **match(1)).status_code == 204
    assert api.delete(address, **caller, **match(1)).status_code == 204
    assert api.get(address, **caller).status_code == 404
    assert api.get(BIRDS, **caller).json()["results"] == []
    with network_scope(two.own):
        assert Event.objects.get(name="bird.removed").data["bird_id"] == str(bird.uid)
        gone = Change.objects.filter(kind="bird", op="gone").get()
        assert (gone.version, gone.data) == (2, None)
    body = {"id": str(bird.uid), "name": "Pip", "site_id": str(bird.site.uid), "species": "columba-livia"}
    refused(admit(api, caller, body), 409, "removed", "/id")


def test_a_batch_is_kept_as_a_whole_or_not_at_all(api, two, site, caller, carer):
    bodies = [
        {"id": str(uuid4()), "name": f"Chick {number}", "site_id": str(site.uid), "species": "columba-livia"}
        for number in range(3)
    ]
    wrong = bodies[:2] + [bodies[2] | {"species": "columba-livea"}, bodies[2] | {"site_id": str(uuid4())}]
    answer = api.post(f"{BIRDS}/batch", {"items": wrong}, **caller)
    refused(answer, 422, "unknown_species", "/items/2/species")
    refused(answer, 422, "unknown_site", "/items/3/site_id")
    assert len(api.get(BIRDS, **caller).json()["results"]) == 1
    made = api.post(f"{BIRDS}/batch", {"items": bodies}, **caller)
    assert made.status_code == 201
    assert [bird["name"] for bird in made.json()["results"]] == ["Chick 0", "Chick 1", "Chick 2"]
    again = api.post(f"{BIRDS}/batch", {"items": bodies}, **caller)
    assert (again.status_code, again.json()) == (200, made.json())


def test_another_networks_id_is_nobodys_here(api, two, site, caller, foreign):
    body = {"id": str(foreign.uid), "name": "Pip", "site_id": str(site.uid), "species": "columba-livia"}
    assert admit(api, caller, body).status_code == 201
    assert api.get(f"{BIRDS}/{foreign.uid}", **caller).json()["name"] == "Pip"
    stranger = bearer(make_token(two.stranger))
    assert api.get(f"{BIRDS}/{foreign.uid}", **stranger).json()["name"] == foreign.name


def test_a_site_out_of_sight_is_no_site(api, two, site, caller, carer, foreign):
    token, home, _ = carer
    body = {"id": str(uuid4()), "name": "Pip", "species": "columba-livia"}
    nowhere = problem(admit(api, caller, body | {"site_id": str(uuid4())}))
    assert nowhere == problem(admit(api, caller, body | {"site_id": str(foreign.site.uid)}))
    assert nowhere == problem(admit(api, token, body | {"site_id": str(site.uid)}))
    assert admit(api, token, body | {"site_id": str(home.uid)}).status_code == 201


def test_a_carer_sees_the_birds_of_the_own_sites_only(api, carer, bird):
    token, _, own = carer
    assert [told["id"] for told in api.get(BIRDS, **token).json()["results"]] == [str(own.uid)]
    unknown = problem(api.get(f"{BIRDS}/{uuid4()}", **token))
    assert problem(api.get(f"{BIRDS}/{bird.uid}", **token)) == unknown
    for send, path, body in (
        (api.patch, "", {"name": "Mine"}),
        (api.delete, "", {}),
        (api.put, "/outcome", {"kind": "died", "at": "2027-05-02T04:00:00Z"}),
        (api.delete, "/outcome", {}),
        (api.post, "/move", {"site_id": str(own.site.uid)}),
        (api.get, "/versions", {}),
    ):
        answer = send(f"{BIRDS}/{bird.uid}{path}", body, **token, **match(1))
        assert answer.status_code == 404, path


@pytest.mark.parametrize(("role", "status"), [("observer", 403), ("vet", 201), ("coordinator", 201)])
def test_roles(api, two, site, role, status):
    token = bearer(make_token(make_member(two.own, role=role)))
    body = {"id": str(uuid4()), "name": "Pip", "site_id": str(site.uid), "species": "columba-livia"}
    assert admit(api, token, body).status_code == status
    assert api.get(BIRDS, **token).status_code == 200


def test_a_post_without_id_or_key_is_refused_and_one_with_a_key_is_done_once(api, site, caller):
    body = {"name": "Pip", "site_id": str(site.uid), "species": "columba-livia"}
    refused(admit(api, caller, body), 400, "idempotency_key_missing")
    sent = key()
    first, again = admit(api, caller, body, **sent), admit(api, caller, body, **sent)
    assert (first.status_code, again.status_code, again["Idempotency-Replayed"]) == (201, 201, "true")
    assert first.json() == again.json()
    refused(admit(api, caller, body | {"name": "Pop"}, **sent), 422, "idempotency_key_reused")
    assert len(api.get(BIRDS, **caller).json()["results"]) == 1


def test_a_bird_is_not_hatched_after_its_records(api, caller, bird):
    make_weighing(bird, 20.1, at=clock.now() - timedelta(days=3))
    address = f"{BIRDS}/{bird.uid}"
    refused(
        api.patch(address, {"hatched_on": "2027-05-01"}, **caller, **match(1)), 422, "records_before", "/hatched_on"
    )
    assert api.patch(address, {"hatched_on": "2027-04-29"}, **caller, **match(1)).status_code == 200


def test_a_site_with_birds_in_care_stays(api, site, caller, bird):
    refused(api.delete(f"/api/v1/sites/{site.uid}", **caller, **match(1)), 409, "birds_in_care")
    outcome = {"kind": "released", "at": "2027-05-02T04:00:00Z"}
    assert api.put(f"{BIRDS}/{bird.uid}/outcome", outcome, **caller, **match(1)).status_code == 200
    assert api.delete(f"/api/v1/sites/{site.uid}", **caller, **match(1)).status_code == 204
    assert api.get(f"{BIRDS}/{bird.uid}", **caller).json()["site_id"] == str(site.uid)
