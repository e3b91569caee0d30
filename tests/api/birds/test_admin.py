"""Operators see birds with their growth in the admin, and change nothing there."""

from datetime import timedelta

import pytest
from django.contrib.auth.models import Permission
from django.test import Client

from api.birds.models import Bird
from api.tenancy.scope import network_scope
from api.web import clock
from tests.factories import make_bird, make_site, make_two_networks, make_user, make_weighing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species", "standing_clock")]

LIST = "/admin/birds/bird/"
GRAMS = (8.3, 10.1, 12.3, 14.9, 18.0, 21.5, 21.5, 21.4, 21.4, 214.0)


@pytest.fixture
def two(built_in_species):
    return make_two_networks()


@pytest.fixture
def operator():
    client = Client()
    client.force_login(make_user(is_staff=True, is_superuser=True))
    return client


def bird_page(bird):
    return f"{LIST}{bird.pk}/change/"


def weighed(network):
    bird = make_bird(make_site(network), name="Pip")
    for n, gram in enumerate(GRAMS):
        make_weighing(bird, gram, at=clock.now() - timedelta(days=len(GRAMS) - 1 - n))
    return bird


def test_birds_of_every_network_are_listed_and_can_be_told_apart(operator, two):
    here, there = make_bird(make_site(two.own), name="Pip"), make_bird(make_site(two.other), name="Quill")
    with network_scope(two.other):
        Bird.objects.filter(pk=there.pk).update(outcome_kind="released", outcome_at=clock.now())
    page = operator.get(LIST).content.decode()
    assert "Pip" in page
    assert "Quill" in page
    for query, found in (
        ("in_care=yes", here),
        ("in_care=no", there),
        (f"network__id__exact={two.own.pk}", here),
        (f"site__row__exact={there.site_id}", there),
        ("q=Quill", there),
    ):
        page = operator.get(f"{LIST}?{query}").content.decode()
        assert (here.name in page, there.name in page) == (found is here, found is there), query
    assert "0 birds" in operator.get(f"{LIST}?species=tyto-alba").content.decode()


def test_a_birds_page_holds_its_weighings_its_findings_and_its_chart(operator, two):
    page = operator.get(bird_page(weighed(two.own))).content.decode()
    assert "How it grows" in page
    assert page.count("data:image/svg+xml;base64,") == 2  # one for a phone
    assert "<strong>no_gain</strong>" in page
    assert "<strong>implausible_weight</strong>" in page
    for gram in GRAMS:
        assert f"{gram:.3f}" in page


def test_a_bird_that_was_never_weighed_has_a_page_too(operator, two):
    page = operator.get(bird_page(make_bird(make_site(two.own)))).content.decode()
    assert "No weighing of this bird is recorded" in page


def test_nothing_is_changed_here(operator, two):
    bird = make_bird(make_site(two.own))
    assert operator.get(f"{LIST}add/").status_code == 403
    assert operator.post(bird_page(bird), {"name": "Other"}).status_code == 403
    assert operator.post(f"{LIST}{bird.pk}/delete/", {"post": "yes"}).status_code == 403
    with network_scope(two.own):
        assert Bird.objects.get(pk=bird.pk).name == bird.name


def test_others_in_the_admin_see_no_birds(two):
    user = make_user(is_staff=True)
    user.user_permissions.set(Permission.objects.all())
    curator = Client()
    curator.force_login(user)
    bird = make_bird(make_site(two.own))
    assert curator.get(LIST).status_code == 403
    assert curator.get(bird_page(bird)).status_code == 403
    assert LIST not in curator.get("/admin/").content.decode()
