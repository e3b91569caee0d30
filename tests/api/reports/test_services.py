"""A report is written once: kept, sent and told of in one transaction, from what its own network knows."""

from datetime import timedelta
from email import message_from_bytes, policy

import pytest
from django.core import mail
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.birds.models import Bird
from api.outbox.models import Event, Letter, Mail
from api.plans.selectors.stored import plan_of
from api.reports import services
from api.reports.models import Report
from api.reports.services import report_compose
from api.tenancy.scope import network_scope
from api.web import clock
from tests.api.reports.rows import MORNING, ON, alert_of, bird_at, founded, left, site_in, slot, weigh
from tests.factories import make_member

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species", "morning")]


def everything(model):
    return model._base_manager.all()


def composed(network, on=ON) -> Report:
    return report_compose(network=network, slot=slot(on))


def test_report_is_kept_as_it_was_sent(network):
    member = make_member(network, role="coordinator")
    quill = bird_at(site_in(network))
    alert_of(quill)
    report = composed(network)
    assert (report.on, report.network_id) == (ON, network.pk)
    assert report.letter.subject == "1 bird needs you today: Long Meadow Bird Rescue, Sunday 2 May"
    assert report.data["needs_you"][0]["bird_id"] == str(quill.uid)
    (sent,) = everything(Mail)
    assert (sent.recipient, sent.letter_id) == (member.user.email, report.letter_id)


def test_a_second_time_writes_nothing_more(network):
    make_member(network, role="coordinator")
    first, again = composed(network), composed(network)
    assert first.pk == again.pk
    assert [everything(model).count() for model in (Report, Letter, Mail)] == [1, 1, 1]
    assert everything(Event).filter(name="report.published").count() == 1


def test_two_at_once_write_one(network, monkeypatch):
    """The other is faster between the look and the writing: what is left is one report, letter, mail and event."""
    make_member(network, role="coordinator")
    real = services.morning_of

    def slow(*args):
        monkeypatch.setattr(services, "morning_of", real)
        composed(network)
        return real(*args)

    monkeypatch.setattr(services, "morning_of", slow)
    report = composed(network)
    assert everything(Report).get().pk == report.pk
    assert [everything(model).count() for model in (Letter, Mail)] == [1, 1]
    assert everything(Event).filter(name="report.published").count() == 1


@pytest.mark.parametrize("broken", ["letter_send", "happened"])
def test_whatever_fails_leaves_nothing(network, monkeypatch, broken):
    make_member(network, role="coordinator")
    real = getattr(services, broken)

    def fails(*args, **fields):
        real(*args, **fields)
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(services, broken, fails)
    with pytest.raises(RuntimeError):
        composed(network)
    assert [everything(model).count() for model in (Report, Letter, Mail)] == [0, 0, 0]
    assert not everything(Event).filter(name="report.published").exists()


def test_event_says_where_the_report_is(network):
    report = composed(network)
    event = everything(Event).get(name="report.published")
    assert event.network_id == network.pk
    assert event.data == {
        "id": str(report.pk),
        "network_id": str(network.pk),
        "href": f"/api/v1/reports/{report.pk}",
        "version": 1,
    }


def test_it_goes_to_coordinators_who_want_it_and_may_sign_in(network):
    wanting = make_member(network, role="coordinator")
    for role in ("carer", "vet", "observer"):
        make_member(network, role=role)
    unwilling = make_member(network, role="coordinator")
    unwilling.wants_report = False
    with network_scope(network):
        unwilling.save()
    make_member(network, role="coordinator", is_active=False)
    make_member(founded(name="Another"), role="coordinator")
    composed(network)
    assert [one.recipient for one in everything(Mail)] == [wanting.user.email]


def test_a_network_without_coordinators_has_its_report_all_the_same(network):
    assert composed(network).letter.subject.startswith("No bird is in care")
    assert not everything(Mail).exists()


def test_it_tells_nothing_of_another_network(network):
    other = founded(name="Another rescue", slug="another")
    stranger = bird_at(site_in(other, "Hidden Mill"), "Stranger")
    alert_of(stranger)
    gone = bird_at(site_in(other, "Hidden Barn"), "Gone")
    left(gone, at=MORNING - timedelta(hours=3), recorded_at=MORNING - timedelta(hours=3))
    bird_at(site_in(network))
    report = composed(network)
    for secret in ("Stranger", "Gone", "Hidden", "Another", str(stranger.uid)):
        assert secret not in f"{report.data} {report.page} {report.letter.html} {report.letter.text}"


# --- what it covers


def test_first_report_covers_the_slots_own_period(network):
    report = composed(network)
    assert (report.period_start, report.period_end) == (MORNING - timedelta(days=1), MORNING)


def test_next_one_covers_everything_since_the_last_however_long_ago(network):
    composed(network, ON - timedelta(days=4))
    assert composed(network).period_start == MORNING - timedelta(days=4)


def test_an_outcome_is_told_once_even_if_it_is_written_down_late(network):
    site = site_in(network)
    early, late, history = (bird_at(site, name, masses_g=()) for name in ("Early", "Late", "History"))
    day = timedelta(days=1)
    left(early, at=MORNING - 1.5 * day, recorded_at=MORNING - 1.4 * day)
    with clock.standing_at(MORNING - day):
        first = composed(network, ON - day)
    # It died before the last report and was written down after it.
    left(late, at=MORNING - 1.2 * day, recorded_at=MORNING - 0.5 * day, kind="died", causes=["aspiration"])
    left(history, at=MORNING - 90 * day, recorded_at=MORNING - 0.5 * day)
    # A correction of what was told is no news.
    with network_scope(network):
        Bird.objects.filter(pk=early.pk).update(changed_at=MORNING - 0.3 * day)
    second = composed(network)
    assert [one["bird"] for one in first.data["outcomes"]] == ["Early"]
    assert [(one["bird"], one["causes"]) for one in second.data["outcomes"]] == [("Late", ["aspiration"])]


def test_only_weighings_that_are_believed_count(network):
    site = site_in(network)
    accepted, confirmed, questioned, rejected = (
        bird_at(site, name, masses_g=()) for name in ("accepted", "confirmed", "questioned", "rejected")
    )
    for bird, state in ((accepted, "accepted"), (confirmed, "confirmed"), (questioned, "questioned")):
        weigh(bird, 26.0, at=MORNING - timedelta(days=1), state=state)
    weigh(rejected, 260.0, at=MORNING - timedelta(days=1), state="rejected")
    report = composed(network)
    assert {one["bird"] for one in report.data["missed_weighings"]} == {"questioned", "rejected"}
    doubted = {one["bird"] for one in report.data["needs_you"] if one["reasons"][0]["need"] == "weight_questioned"}
    assert doubted == {"questioned"}


def test_birds_and_weighings_that_were_removed_are_not_told(network):
    site = site_in(network)
    removed, weighed = bird_at(site, "removed", masses_g=()), bird_at(site, "weighed", masses_g=())
    wrong = weigh(weighed, 26.0, at=MORNING - timedelta(days=1))
    wrong.gone_at = removed.gone_at = MORNING
    with network_scope(network):
        wrong.save()
        removed.save()
    report = composed(network)
    assert report.data["totals"]["birds"] == 1
    assert report.data["missed_weighings"][0]["bird"] == "weighed"


def test_resolved_alerts_are_over(network):
    alert_of(bird_at(site_in(network)), state="resolved", resolved_at=MORNING)
    assert composed(network).data["alerts"] == []


def test_a_species_that_has_no_profile_any_more_is_told_by_its_key(network):
    bird_at(site_in(network), species="avis-ignota")
    swift = {
        "scientific_name": "Apus pallidus",
        "order": "Caprimulgiformes",
        "adult_mass_g": 41.0,
        "developmental_mode": "altricial",
    }
    bird_at(site_in(network), "Foundling", species=None, unlisted_species=swift)
    names = [one["name"] for one in composed(network).data["census"]["by_species"]]
    assert sorted(names) == ["Apus pallidus", "avis-ignota"]


def test_plans_are_those_of_the_birds(network):
    """A chick of three days is fed by night too; one of whom nobody knows the age has no plan, and that is told."""
    site = site_in(network)
    small = bird_at(site, "Small", hatched_on=ON - timedelta(days=3), masses_g=(6.5, 7.4, 8.6))
    bird_at(site, "Ageless", hatched_on=None, masses_g=())
    report = composed(network)
    with network_scope(network):
        plan = plan_of(small, on=ON)
    (night,) = {feed["portions"][0]["bird"] for feed in report.data["night_feeds"]}
    assert night == "Small"
    assert f"{plan['feed'].volume_ml:g} mL" == report.data["night_feeds"][0]["portions"][0]["portion"]
    (need,) = [one for one in report.data["needs_you"] if one["bird"] == "Ageless"]
    assert need["reasons"][0]["need"] == "no_plan"
    assert {one["name"] for one in report.data["census"]["by_stage"]} == {plan["stage"].name, None}


# --- the mail


def test_mail_arrives_with_its_charts_under_its_message_id(network, django_capture_on_commit_callbacks):
    member = make_member(network, role="coordinator")
    alert_of(bird_at(site_in(network)))
    with django_capture_on_commit_callbacks(execute=True):
        report = composed(network)
    (message,) = mail.outbox
    assert (message.to, message.subject) == ([member.user.email], report.letter.subject)
    came = message_from_bytes(message.message().as_bytes(), policy=policy.default)
    assert came["Message-ID"] == everything(Mail).get().message_id
    html = came.get_body(("html",)).get_content()
    pictures = {part["Content-ID"].strip("<>") for part in came.walk() if part["Content-ID"]}
    assert len(pictures) == 1
    assert all(f'src="cid:{name}"' in html for name in pictures)
    assert came.get_body(("plain",)).get_content() == report.letter.text


@pytest.mark.parametrize(("public", "linked"), [("https://long-meadow.example", True), ("", False)])
def test_mail_leads_to_the_whole_report_where_the_service_knows_its_address(network, settings, public, linked):
    settings.PUBLIC_URL = public
    report = composed(network)
    assert (f"{public}/reports/{report.pk}" in report.letter.html) is linked


# --- the work it takes


def test_queries_do_not_grow_with_the_birds(network):
    counts = []
    for name in ("one", "two", "three"):
        site = site_in(network, f"site {name}")
        for n in range(4):
            bird = bird_at(site, f"{name} {n}")
            weigh(bird, 260.0, at=MORNING - timedelta(hours=12), state="questioned")
            alert_of(bird)
        with network_scope(network):
            services.morning_of(network, slot())  # what is read once a process is not counted
            with CaptureQueriesContext(connection) as queries:
                services.morning_of(network, slot())
        counts.append(len(queries))
    assert counts[0] == counts[1] == counts[2]
