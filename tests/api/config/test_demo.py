"""The demonstration at any hour: ten days entered as an app would, alerts that follow from them, a report, a token."""

import io
import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.core.management import call_command

from api.config.demo.scenario import SCENARIO_FILE, scenario_read
from api.config.management.commands import demo
from api.networks.models import Membership
from api.reports.models import Report
from api.tenancy.models import Network, User
from api.tenancy.scope import all_networks
from api.web import clock

# Alerts follow from what is committed.
pytestmark = pytest.mark.django_db(transaction=True)

MORNING = datetime(2027, 5, 2, 7, 0, tzinfo=UTC)
HOURS = [
    pytest.param(MORNING, id="morning"),
    pytest.param(datetime(2027, 5, 2, 22, 55, tzinfo=UTC), id="after-the-last-feed"),
    pytest.param(datetime(2027, 3, 28, 0, 30, tzinfo=UTC), id="half-an-hour-before-the-clocks-change"),
]
SEDGE_G = "weights_g = [21.2, 25.0, 29.1, 33.4, 37.9, 41.8, 43.0, 43.1, 42.7, 41.6]"
#: The same chick, had it gone on as it began.
SEDGE_THRIVING_G = "weights_g = [21.2, 25.0, 29.1, 33.4, 37.9, 41.8, 46.0, 50.4, 54.9, 58.8]"


@pytest.fixture(autouse=True)
def _var(settings, tmp_path):
    settings.VAR_DIR = tmp_path


def shown() -> str:
    out = io.StringIO()
    call_command("demo", "--no-serve", stdout=out)
    return out.getvalue()


def section(page: str, head: str) -> str:
    """What stands under a head."""
    return re.search(rf"^{head}[^\n]*\n=+\n(.*?)(?=\n\n[^\n]+\n=+\n|\Z)", page, re.M | re.S)[1]


def reported() -> tuple[set[str], set[str]]:
    """Birds that need somebody by the report, and birds with an alert in it."""
    with all_networks("read what the demonstration reported"):
        data = Report.objects.latest("on").data
    return {one["bird"] for one in data["needs_you"]}, {one["bird"] for one in data["alerts"]}


def test_the_scenario_is_what_it_promises():
    scenario = scenario_read()
    assert len(scenario.site) == 2
    assert len(scenario.bird) >= 12
    assert len({bird.species for bird in scenario.bird}) >= 6


@pytest.mark.parametrize("instant", HOURS)
def test_at_any_hour_there_are_alerts_a_round_and_a_report(instant):
    with clock.standing_at(instant):
        page = shown()
    alerts = section(page, "Alerts")
    assert re.search(r"^Sedge: no gain \(", alerts, re.M)
    assert re.search(r"^Ash: implausible weight \(act today\)\n.*Was 239 g meant\?", alerts, re.M)
    assert re.search(r"^Pebble: crop stopped \(urgent\)", alerts, re.M)
    assert not re.search(r"^(Quill|Reed|Flint|Button|Thimble|Brook|Sickle|Marigold): ", alerts, re.M)
    assert re.search(r"^Brook +Weir House +Mallard .* feeds itself$", page, re.M)
    assert section(page, "Next round")
    assert {"Sedge", "Pebble"} <= reported()[1]
    written = Path(re.search(r"To be opened in a browser: (\S+)", page)[1]).read_text(encoding="utf-8")
    assert "Pebble" in written


def test_without_the_faltering_chick_alert_and_report_are_others(monkeypatch):
    told = (django_settings.BASE_DIR / SCENARIO_FILE).read_text(encoding="utf-8")
    assert SEDGE_G in told
    thriving = told.replace(SEDGE_G, SEDGE_THRIVING_G)
    monkeypatch.setattr(demo, "scenario_read", lambda: scenario_read(thriving))
    with clock.standing_at(MORNING):
        page = shown()
    assert "Sedge:" not in section(page, "Alerts")
    assert "Pebble: crop stopped" in section(page, "Alerts")
    needing, alerted = reported()
    assert "Sedge" not in needing | alerted
    assert "Pebble" in needing & alerted


def test_a_day_later_the_records_are_that_days_and_a_second_run_changes_nothing(api):
    with clock.standing_at(MORNING):
        shown()
    with clock.standing_at(MORNING + timedelta(days=1)):
        once, page = shown(), shown()
        token = re.search(r"TOKEN=(\S+)", page)[1]
        caller = {"HTTP_AUTHORIZATION": f"Bearer {token}"}
        birds = api.get("/api/v1/birds?limit=200", **caller).json()["results"]
        plan = json.loads(api.get(f"/api/v1/birds/{birds[0]['id']}/feeding-plan", **caller).content)
    assert section(once, "Alerts") == section(page, "Alerts")
    assert len(birds) == len(scenario_read().bird)
    assert plan["bird_id"] == birds[0]["id"]
    assert Network.objects.count() == 1
    with all_networks("count what the runs made"):
        assert sorted(Membership.objects.values_list("role", flat=True)) == ["carer", "coordinator"]
    assert User.objects.filter(is_superuser=True).count() == 1


def test_the_password_of_the_operator_opens_the_admin(client):
    with clock.standing_at(MORNING):
        page = shown()
        email, password = re.search(r"^  (\S+), password (\S+) \(", page, re.M).groups()
        assert client.login(username=email, password=password)
        assert client.get("/admin/").status_code == 200
