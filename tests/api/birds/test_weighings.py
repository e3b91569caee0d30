"""A weighing's state: asked about by the service, answered by people."""

from uuid import uuid4

import pytest

from api.birds.models import Weighing
from api.birds.services import weighing_question
from api.outbox.models import Event
from api.tenancy.scope import network_scope
from tests.api.birds.conftest import match, refused
from tests.factories import make_weighing

pytestmark = pytest.mark.django_db


@pytest.fixture
def questioned(bird):
    weighing = make_weighing(bird, 362)
    with network_scope(bird.network_id):
        assert weighing_question(weighing=weighing, expected_g=36.4, meant_g=36.2)
    return weighing


def patch(api, caller, weighing, body, version):
    return api.patch(f"/api/v1/weighings/{weighing.uid}", body, **caller, **match(version))


def test_a_weight_that_is_asked_about_says_so(api, caller, bird, questioned):
    told = api.get(f"/api/v1/weighings/{questioned.uid}", **caller).json()
    assert (told["state"], told["question"], told["version"]) == (
        "questioned",
        {"expected_g": 36.4, "meant_g": 36.2},
        2,
    )
    with network_scope(bird.network_id):
        assert Event.objects.get(name="weighing.corrected").data["bird_id"] == str(bird.uid)
    by = api.get(f"/api/v1/weighings/{questioned.uid}/versions", **caller).json()["results"][1]["by"]
    assert by is None


@pytest.mark.parametrize("answer", ["confirmed", "rejected"])
def test_an_answer_stands_and_is_not_asked_for_again(api, caller, bird, questioned, answer):
    told = patch(api, caller, questioned, {"state": answer}, 2).json()
    assert (told["state"], told["mass_g"], told["question"]["meant_g"]) == (answer, 362.0, 36.2)
    with network_scope(bird.network_id):
        assert not weighing_question(weighing=questioned, expected_g=36.4, meant_g=None)
        assert Weighing.objects.get(uid=questioned.uid).version == 3


def test_a_corrected_weight_is_judged_anew(api, caller, questioned):
    told = patch(api, caller, questioned, {"mass_g": 36.2}, 2).json()
    assert (told["state"], told["mass_g"], told["question"]) == ("accepted", 36.2, None)


def test_a_note_answers_nothing(api, caller, questioned):
    assert patch(api, caller, questioned, {"note": "Look."}, 2).json()["state"] == "questioned"


@pytest.mark.parametrize("state", ["accepted", "questioned", "wrong", 1, None])
def test_states_that_clients_do_not_set(api, caller, questioned, state):
    answer = patch(api, caller, questioned, {"state": state}, 2)
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/state"


def test_a_new_weighing_brings_no_state(api, caller, bird):
    body = {
        "id": str(uuid4()),
        "bird_id": str(bird.uid),
        "at": "2027-05-02T05:00:00Z",
        "mass_g": 36.0,
        "state": "confirmed",
    }
    refused(api.post("/api/v1/weighings", body, **caller), 400, "unknown_field", "/state")


def test_a_weighing_that_is_gone_is_not_asked_about(api, caller, bird):
    weighing = make_weighing(bird, 362)
    assert api.delete(f"/api/v1/weighings/{weighing.uid}", **caller, **match(1)).status_code == 204
    with network_scope(bird.network_id):
        assert not weighing_question(weighing=weighing, expected_g=36.4, meant_g=None)


@pytest.mark.parametrize("mass_g", [36, 36.0, 36.5, 36.125, 0.001, 12000.5])
def test_a_weight_is_told_back_as_it_was_sent(api, caller, bird, mass_g):
    body = {"id": str(uuid4()), "bird_id": str(bird.uid), "at": "2027-05-02T05:00:00Z", "mass_g": mass_g}
    assert api.post("/api/v1/weighings", body, **caller).json()["mass_g"] == mass_g
    assert api.get(f"/api/v1/weighings/{body['id']}", **caller).json()["mass_g"] == mass_g
    assert api.post("/api/v1/weighings", body, **caller).status_code == 200
