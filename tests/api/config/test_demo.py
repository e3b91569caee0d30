"""The demonstration at any hour: one pot for the clutch, the cold chick unfed, a token that opens the network."""

import io
import re
from datetime import UTC, datetime

import pytest
from django.core.management import call_command

from api.networks.models import Membership
from api.tenancy.models import Network
from api.tenancy.scope import all_networks
from api.web import clock

pytestmark = pytest.mark.django_db

HOURS = [
    pytest.param(datetime(2027, 5, 2, 5, 0, tzinfo=UTC), id="morning"),
    pytest.param(datetime(2027, 5, 2, 22, 55, tzinfo=UTC), id="after-the-last-feed"),
    pytest.param(datetime(2027, 3, 28, 0, 30, tzinfo=UTC), id="half-an-hour-before-the-clocks-change"),
]


def shown() -> str:
    out = io.StringIO()
    call_command("demo", "--no-serve", stdout=out)
    return out.getvalue()


@pytest.mark.parametrize("instant", HOURS)
def test_one_pot_serves_the_clutch_and_the_cold_chick_waits(instant):
    with clock.standing_at(instant):
        page = shown()
    assert page.count("\nMix\n") == 1
    assert "For Quill, Reed, Sedge, Marigold:" in page
    assert re.search(r"^Button +House sparrow .* warm it first, no food yet$", page, re.M)
    assert "Button: warm it first, no food yet." in page


def test_twice_is_harmless_and_the_token_opens_the_network(api):
    with clock.standing_at(datetime(2027, 5, 2, 5, 0, tzinfo=UTC)):
        shown()
        token = re.search(r"Bearer (\S+)'", shown())[1]
        answer = api.get("/api/v1/members", HTTP_AUTHORIZATION=f"Bearer {token}")
    assert answer.status_code == 200
    assert [member["role"] for member in answer.json()["results"]] == ["coordinator"]
    assert Network.objects.count() == 1
    with all_networks("count what two runs made"):
        assert Membership.objects.count() == 1
