"""Two people weigh one bird at the same moment: both weights are kept, and there is one alert."""

import pytest

from api.alerts import services
from api.alerts.models import Alert
from api.birds.models import Weighing
from api.outbox.models import Delivery, Event
from api.tenancy.scope import network_scope
from api.web import clock
from tests.api.alerts.conftest import HATCHED, morning, up_to
from tests.database import at_once
from tests.factories import make_bird, make_site, make_two_networks, make_weighing


@pytest.fixture
def bird(shared_database, built_in_species):
    """It gained until yesterday."""
    site = make_site(make_two_networks().own)
    with clock.standing_at(morning(11)):
        bird = make_bird(site, hatched_at=HATCHED, intake={"at": morning(5)})
        for day, mass_g in up_to(10).items():
            make_weighing(bird, mass_g, at=morning(day))
        yield bird


def test_two_weighings_at_once_are_both_kept_and_one_alert_is_opened(bird):
    at_once(*[lambda g=grams: make_weighing(bird, g, at=morning(11)) for grams in (27.4, 27.3, 27.2, 27.1)])
    with network_scope(bird.network_id):
        assert Weighing.objects.filter(at=morning(11)).count() == 4
        (alert,) = Alert.objects.all()
        assert alert.code == "weight_loss"
        assert Event.objects.filter(name="alert.opened").count() == 1
    assert not Delivery.objects.exclude(state="done").exists()


def test_two_looks_at_once_open_one_alert(bird):
    """As two workers do, that hear of one weighing each at the same moment."""

    def look():
        with network_scope(bird.network_id):
            services.bird_look(bird.uid)

    with network_scope(bird.network_id):
        Weighing.objects.filter(at=morning(10)).update(mass_g=22.0)  # behind the service's back: no look was made
        assert not Alert.objects.exists()
    at_once(*[look] * 4)
    with network_scope(bird.network_id):
        assert Alert.objects.filter(code="weight_loss").count() == 1
        assert Event.objects.filter(name="alert.opened").count() == Alert.objects.count()
