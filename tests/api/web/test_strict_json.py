"""Bodies that a lenient reader would take and this one refuses (RFC 8259)."""

import json
from io import BytesIO
from types import SimpleNamespace

import pytest
from rest_framework.response import Response
from rest_framework.test import APIRequestFactory

from api.web import bodies
from api.web.bodies import WholeBodies
from api.web.problem import Problem
from api.web.strict import StrictFloatField, StrictJSONParser, StrictSerializer
from api.web.strict.parser import MAX_DEPTH, read_object
from api.web.views import ComputeView


class Body(StrictSerializer):
    mass_g = StrictFloatField(greater_than=0, required=False)


class Echo(ComputeView):
    def post(self, request):
        return Response(Body.read(request))


def post(raw: bytes, content_type="application/json", **environ):
    request = APIRequestFactory().generic("POST", "/api/v1/echo", raw, content_type=content_type, **environ)
    response = Echo.as_view()(request)
    if hasattr(response, "render"):
        response.render()
    return response


def faults(response):
    return [(fault["pointer"], fault["code"]) for fault in json.loads(response.content)["errors"]]


@pytest.mark.parametrize(
    ("raw", "pointer", "code"),
    [
        (b'{"mass_g": 1, "mass_g": 2}', "/mass_g", "duplicate_field"),
        (b'{"a": [{"x": {"b/c": 1, "b/c": 1}}]}', "/a/0/x/b~1c", "duplicate_field"),
        (b'{"mass_g": NaN}', "/mass_g", "not_a_number"),
        (b'{"mass_g": Infinity}', "/mass_g", "not_a_number"),
        (b'{"mass_g": -Infinity}', "/mass_g", "not_a_number"),
        (b'{"mass_g": 1e400}', "/mass_g", "not_a_number"),
        (b'{"mass_g": ' + b"9" * 5000 + b"}", "", "malformed"),
        (b'{"mass_g": 1,}', "", "malformed"),
        (b"{'mass_g': 1}", "", "malformed"),
        (b'{"mass_g": 01}', "", "malformed"),
        (b'{"mass_g": .5}', "", "malformed"),
        (b'{"mass_g": 1} {}', "", "malformed"),
        (b'{"mass_g": 1', "", "malformed"),
        (b'{"a": "\n"}', "", "malformed"),
        (b"   ", "", "malformed"),
        (b"\xef\xbb\xbf{}", "", "malformed"),
        (b'{"a": "\xff"}', "", "not_utf_8"),
        ('{"a": "ä"}'.encode("latin-1"), "", "not_utf_8"),
        ('{"a": 1}'.encode("utf-16"), "", "not_utf_8"),
        (b'{"a": "\\ud800"}', "/a", "malformed"),
        (b'{"\\udc00": 1}', "", "malformed"),
        (b"[]", "", "not_an_object"),
        (b"null", "", "not_an_object"),
        (b'"text"', "", "not_an_object"),
        (b"12", "", "not_an_object"),
        (b'{"a":' + b"[" * MAX_DEPTH + b"]" * MAX_DEPTH + b"}", "/a" + "/0" * (MAX_DEPTH - 1), "too_deep"),
        (b'{"a":' + b"[" * 100_000 + b"]" * 100_000 + b"}", "", "too_deep"),
        (b"[" * 500_000, "", "too_deep"),
    ],
)
def test_unreadable_bodies_are_400_and_say_where(raw, pointer, code):
    response = post(raw)
    assert response.status_code == 400
    assert response["Content-Type"] == "application/problem+json"
    assert faults(response) == [(pointer, code)]


def test_every_repeated_name_is_named():
    response = post(b'{"b": 1, "b": 2, "c": {"d": 1, "d": 1}}')
    assert faults(response) == [("/b", "duplicate_field"), ("/c/d", "duplicate_field")]


def test_a_body_at_the_depth_limit_is_read():
    deep = b'{"a":' + b"[" * (MAX_DEPTH - 1) + b"]" * (MAX_DEPTH - 1) + b"}"
    assert list(read_object(deep)) == ["a"]


def test_a_good_body_is_read():
    assert json.loads(post(b'{"mass_g": 118.0}').content) == {"mass_g": 118.0}


@pytest.mark.parametrize(
    "content_type",
    [
        "text/plain",
        "application/xml",
        "multipart/form-data; boundary=x",
        "application/x-www-form-urlencoded",
        "application/json; charset=latin-1",
        "",
    ],
)
def test_other_media_types_are_415(content_type):
    response = post(b'{"mass_g": 1}', content_type=content_type)
    assert response.status_code == 415
    assert response["Content-Type"] == "application/problem+json"


def test_utf_8_may_be_named():
    assert post(b'{"mass_g": 1}', content_type="application/json; charset=UTF-8").status_code == 200


def test_a_content_encoding_is_415():
    response = post(b'{"mass_g": 1}', HTTP_CONTENT_ENCODING="gzip")
    assert (response.status_code, response["Accept-Encoding"]) == (415, "identity")


class Unread(BytesIO):
    """A body that must not be read."""

    def read(self, *args):
        raise AssertionError("The length said already that it is too large.")


def test_a_body_declared_too_large_is_413_and_not_read():
    response = post(b"{}", **{"wsgi.input": Unread(), "CONTENT_LENGTH": str(10_000_000)})
    assert response.status_code == 413
    assert response["Content-Type"] == "application/problem+json"


def test_a_body_larger_than_declared_is_counted_while_it_is_read(settings):
    settings.MAX_BODY_BYTES = 100
    short = SimpleNamespace(META={"CONTENT_LENGTH": "50"})
    stream = BytesIO(b'{"a": "' + b"x" * 10_000 + b'"}')
    with pytest.raises(Problem) as caught:
        StrictJSONParser().parse(stream, "application/json", {"request": short})
    assert caught.value.status_code == 413
    assert stream.tell() == 101


def through_the_gate(body, **environ):
    seen = {}

    def application(environ, start_response):
        seen["response"] = post(environ["wsgi.input"].read(1001), CONTENT_LENGTH=environ["CONTENT_LENGTH"])
        return []

    WholeBodies(application)({"wsgi.input": body, **environ}, None)
    return seen["response"]


@pytest.mark.parametrize(("letters", "status"), [(10_000_000, 413), (40, 400)])
def test_a_body_sent_in_chunks_has_no_length_but_is_counted(settings, letters, status):
    """Django takes a body without Content-Length for empty; gunicorn undoes the chunks and says so."""
    settings.MAX_BODY_BYTES = 1000
    body = BytesIO(b'{"colour": "' + b"x" * letters + b'"}')
    chunked = {"HTTP_TRANSFER_ENCODING": "chunked", "wsgi.input_terminated": True}
    assert through_the_gate(body, **chunked).status_code == status


@pytest.mark.parametrize("chunked", [True, False])
def test_a_sender_is_heard_out_so_that_the_answer_arrives_but_not_for_ever(settings, monkeypatch, chunked):
    settings.MAX_BODY_BYTES = 1000
    monkeypatch.setattr(bodies, "PATIENCE_BYTES", 500_000)
    how = {"HTTP_TRANSFER_ENCODING": "chunked", "wsgi.input_terminated": True} if chunked else {}
    for length, read in ((300_000, 300_000), (2_000_000, 500_000)):
        body = BytesIO(b"x" * length)
        how |= {} if chunked else {"CONTENT_LENGTH": str(length)}
        assert through_the_gate(body, **how).status_code == 413
        assert body.tell() == read


def test_nothing_is_read_beyond_a_body():
    """A server's stream may wait for ever behind the end of the body."""
    body = BytesIO(b"the body" + b"the next request")
    WholeBodies(lambda environ, start_response: [])({"wsgi.input": body, "CONTENT_LENGTH": "8"}, None)
    assert body.tell() == 8


def test_a_body_at_the_limit_is_read(settings):
    raw = b'{"mass_g": 1}'
    settings.MAX_BODY_BYTES = len(raw)
    assert post(raw).status_code == 200
    assert post(raw + b" ").status_code == 413
