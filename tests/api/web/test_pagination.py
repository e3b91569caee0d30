import pytest
from rest_framework.test import APIRequestFactory
from rest_framework.views import APIView

from api.networks.models import Membership
from api.tenancy.scope import network_scope
from api.web.pagination import CursorParameters, OffsetParameters, cursor_page
from api.web.problem import Problem
from tests.factories import make_member, make_network


def read(parameters, query):
    return parameters.read(APIView().initialize_request(APIRequestFactory().get(f"/x?{query}")))


@pytest.mark.parametrize(
    "query", ["limit=0", "limit=201", "limit=10000", "limit=-1", "limit=x", "limit=", "limit=null"]
)
@pytest.mark.parametrize("parameters", [CursorParameters, OffsetParameters])
def test_a_limit_beyond_the_bounds_is_400_and_not_clamped(parameters, query):
    with pytest.raises(Problem) as caught:
        read(parameters, query)
    assert caught.value.status_code == 400
    assert caught.value.errors[0].pointer == "?limit"


def test_the_largest_page():
    assert read(CursorParameters, "limit=200")["limit"] == 200


@pytest.mark.parametrize("query", ["offset=-1", "offset=100001", "offset=1.5"])
def test_an_offset_beyond_the_bounds_is_400(query):
    with pytest.raises(Problem) as caught:
        read(OffsetParameters, query)
    assert caught.value.status_code == 400


@pytest.fixture
def network(db):
    network = make_network()
    for role in ["carer", "vet", "carer", "observer", "carer", "vet", "carer"]:
        make_member(network, role=role)
    with network_scope(network):
        yield network


@pytest.mark.parametrize("order", [("id",), ("-id",), ("role", "id"), ("-role", "-id"), ("-joined_at", "-id")])
def test_pages_hold_every_row_once_and_in_order(network, order):
    rows, cursor, pages = [], None, 0
    while True:
        page = cursor_page(Membership.objects.all(), limit=2, cursor=cursor, order=order)
        rows += page.rows
        pages += 1
        if (cursor := page.next) is None:
            break
    assert [row.pk for row in rows] == [row.pk for row in Membership.objects.order_by(*order)]
    assert pages == 4


def test_a_row_added_meanwhile_neither_shifts_nor_repeats_any(network):
    first = cursor_page(Membership.objects.all(), limit=3, order=("-id",))
    make_member(network)
    second = cursor_page(Membership.objects.all(), limit=10, cursor=first.next, order=("-id",))
    assert len({row.pk for row in first.rows + second.rows}) == len(first.rows + second.rows) == 7


@pytest.mark.parametrize(
    "cursor",
    [
        "x",
        "AAAA",
        "W10",
        "bnVsbA",
        "WyJhIl0",
        "!!!",
        "W1siaWQiXSwgWyJ4Il1d",
        "W1sicm9sZSJdLCBbImEiXV0",
        "ü",
        "WyJpZCJd" * 50,
    ],
)
def test_a_cursor_that_is_none_is_400(network, cursor):
    with pytest.raises(Problem) as caught:
        cursor_page(Membership.objects.all(), limit=2, cursor=cursor)
    assert caught.value.status_code == 400
    assert [(f.pointer, f.code) for f in caught.value.errors] == [("?cursor", "invalid_cursor")]
