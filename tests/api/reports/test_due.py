"""When a report is due: the latest local morning of every network, once, and never an old one."""

from datetime import UTC, date, datetime, time, timedelta

import msgspec
import pytest
from django.core import mail

from api.jobs.models import Job, State
from api.jobs.registry import KINDS
from api.jobs.rules.due import slot_of
from api.jobs.services import dispatch, jobs_make
from api.outbox.models import Event
from api.reports.models import Report
from api.reports.selectors.due import DAILY_REPORT, reports_due
from api.tenancy.models import Network
from api.web import clock
from species.domain.localtime import zone_named
from tests.api.reports.rows import MORNING, ON, bird_at, founded, site_in
from tests.factories import make_member, make_network

pytestmark = pytest.mark.django_db


def reports():
    return Report._base_manager.order_by("on")


def turn_at(now: datetime) -> None:
    with clock.standing_at(now):
        dispatch(now)


def test_the_kind_is_known_to_the_dispatcher():
    assert KINDS[DAILY_REPORT].due is reports_due


def test_due_at_the_networks_own_hour_in_its_own_zone(network):
    tokyo = founded(name="Kanda", slug="kanda", time_zone="Asia/Tokyo")
    turns = {turn.network_id: turn for turn in reports_due(MORNING)}
    assert (turns[network.pk].slot, turns[network.pk].due_at) == ("2027-05-02", MORNING)
    # 07:00 in Tokyo (UTC+9, no summer time: IANA tzdb) is 22:00 UTC of the day before.
    assert (turns[tokyo.pk].slot, turns[tokyo.pk].due_at) == ("2027-05-02", datetime(2027, 5, 1, 22, tzinfo=UTC))


@pytest.mark.parametrize(
    ("founded_at", "due"), [(MORNING - timedelta(seconds=1), 1), (MORNING + timedelta(seconds=1), 0)]
)
def test_a_network_founded_after_the_hour_waits_for_the_next_morning(founded_at, due):
    founded(founded_at)
    assert len(list(reports_due(MORNING + timedelta(hours=3)))) == due


def test_a_zone_that_cannot_be_read_keeps_no_other_network_waiting(network, caplog):
    lost = make_network(name="Lost")
    Network.objects.filter(pk=lost.pk).update(time_zone="Mars/Olympus", created_at=MORNING - timedelta(days=9))
    assert [turn.network_id for turn in reports_due(MORNING)] == [network.pk]
    assert str(lost.pk) in caplog.text


def test_the_dispatcher_writes_and_mails_it(network, built_in_species, django_capture_on_commit_callbacks):
    make_member(network, role="coordinator")
    bird_at(site_in(network))
    with django_capture_on_commit_callbacks(execute=True):
        turn_at(MORNING - timedelta(seconds=1))
    assert [report.on for report in reports()] == [ON - timedelta(days=1)]  # yesterday's, which nobody had written
    mail.outbox.clear()
    with django_capture_on_commit_callbacks(execute=True):
        turn_at(MORNING + timedelta(seconds=5))
        turn_at(MORNING + timedelta(seconds=25))
    assert [report.on for report in reports()] == [ON - timedelta(days=1), ON]
    assert len(mail.outbox) == 1
    assert {job.state for job in Job.objects.all()} == {State.DONE}
    assert Event._base_manager.filter(name="report.published").count() == 2


def test_days_that_nobody_worked_bring_one_report_and_not_a_row(network):
    for days in (0, 9):
        turn_at(MORNING + timedelta(days=days, minutes=1))
    assert [report.on for report in reports()] == [ON, ON + timedelta(days=9)]


def test_a_job_left_over_from_an_old_morning_tells_nothing(network):
    """Its worker was killed, and it is taken up days later together with today's."""
    jobs_make(DAILY_REPORT, reports_due(MORNING))
    turn_at(MORNING + timedelta(days=3, minutes=1))
    assert [report.on for report in reports()] == [ON + timedelta(days=3)]
    assert {job.state for job in Job.objects.all()} == {State.DONE}


def test_a_job_that_waits_for_hours_is_still_this_mornings(network):
    jobs_make(DAILY_REPORT, reports_due(MORNING))
    turn_at(MORNING + timedelta(hours=23))
    assert [report.on for report in reports()] == [ON]


def test_moving_the_hour_leaves_no_gap_and_gives_no_second_report_of_a_day(network):
    turn_at(MORNING + timedelta(minutes=1))
    network.report_at = time(9)
    network.save()
    turn_at(MORNING + timedelta(hours=4))
    turn_at(MORNING + timedelta(days=1, hours=4))
    first, second = reports()
    assert (first.on, second.on) == (ON, ON + timedelta(days=1))
    assert second.period_start == first.period_end


ZONES = [
    ("Europe/Lisbon", 365),
    ("America/St_Johns", 365),
    ("Pacific/Chatham", 365),
    # Samoa left out 30 December 2011 (IANA tzdb, Pacific/Apia).
    ("Pacific/Apia", 364),
]


@pytest.mark.parametrize(("zone", "mornings"), ZONES)
def test_a_year_of_mornings_joins_without_gap_or_overlap(zone, mornings):
    """The dispatcher looks every hour; each local day there is has one turn, told of by the turn before it."""
    network = founded(datetime(2010, 1, 1, tzinfo=UTC), name="A year", time_zone=zone)
    place, slots = zone_named(zone), {}
    now = slot_of(date(2011, 2, 1), place, network.report_at).due_at
    end = slot_of(date(2012, 2, 1), place, network.report_at).due_at
    while now < end:
        (turn,) = reports_due(now)
        slots.setdefault(turn.slot, msgspec.convert(turn.told, dict))
        now += timedelta(hours=1)
    assert len(slots) == mornings
    periods = list(slots.values())
    assert all(a["period_end"] == b["period_start"] for a, b in zip(periods, periods[1:], strict=False))
