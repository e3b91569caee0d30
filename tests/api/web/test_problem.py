"""Every refusal is problem+json (RFC 9457) and says what was wrong and what would do."""

import json
from datetime import UTC, datetime

import pytest
from django.http import Http404
from django.urls import path
from rest_framework.response import Response

from api.web import clock, etags
from api.web.problem import Fault, Problem, faults_problem, refused
from api.web.problem_kinds import KINDS
from api.web.strict import StrictFloatField, StrictSerializer
from api.web.views import ComputeView
from species.domain.errors import DomainError


class Body(StrictSerializer):
    mass_g = StrictFloatField(greater_than=0)


class Rules(ComputeView):
    """Answers by the name in the address, as the rooms' views would."""

    def get(self, request, what):
        match what:
            case "domain":
                raise DomainError(
                    "No chick is 900 days old.", field="/age_days", code="impossible_age", remedy="Look at the date."
                )
            case "missing":
                raise Http404
            case "conflict":
                raise Problem("conflict", "The bird's record is closed.")
            case "breaks":
                raise ZeroDivisionError("secret of the house")
            case "nan":
                return Response({"value": float("nan")})
        return etags.respond(request, etags.of_version(3), {"version": 3})

    def post(self, request, what):
        if what == "domain":
            raise DomainError("Too heavy.", field="/weighings/2/mass_g", code="implausible", remedy="Weigh again.")
        return Response(Body.read(request))

    def patch(self, request, what):
        etags.require_match(request, etags.of_version(3))
        return Response({"version": 4})


class Urls:
    urlpatterns = [path("api/v1/rules/<what>", Rules.as_view())]
    handler400 = "api.web.fallbacks.bad_request"
    handler403 = "api.web.fallbacks.permission_denied"
    handler404 = "api.web.fallbacks.not_found"
    handler500 = "api.web.fallbacks.server_error"


@pytest.fixture
def rules(api, settings):
    settings.ROOT_URLCONF = Urls
    return api


def check_problem(response, status, slug):
    assert response.status_code == status
    assert response["Content-Type"] == "application/problem+json"
    assert "no-store" in response["Cache-Control"]
    problem = json.loads(response.content)
    assert list(problem)[:6] == ["type", "title", "status", "detail", "instance", "errors"]
    assert problem["type"] == f"http://testserver/api/v1/problems/{slug}"
    assert (problem["title"], problem["status"]) == (KINDS[slug].title, status)
    assert problem["instance"] == f"urn:request:{response['X-Request-Id']}"
    assert problem["detail"]
    return problem


@pytest.mark.parametrize(
    ("method", "address", "options", "status", "slug"),
    [
        ("post", "x", {"data": "{", "content_type": "application/json"}, 400, "malformed-body"),
        ("post", "x", {"data": {"mass_g": True}}, 400, "invalid-request"),
        ("post", "x", {"data": {}}, 400, "invalid-request"),
        ("post", "x", {}, 400, "invalid-request"),
        ("get", "x?nonsense=1", {}, 400, "invalid-request"),
        ("get", "missing", {}, 404, "not-found"),
        ("put", "x", {"data": {}}, 405, "method-not-allowed"),
        ("get", "x", {"HTTP_ACCEPT": "text/csv"}, 406, "not-acceptable"),
        ("get", "conflict", {}, 409, "conflict"),
        ("patch", "x", {"data": {}, "HTTP_IF_MATCH": '"2"'}, 412, "precondition-failed"),
        ("patch", "x", {"data": {}, "HTTP_IF_MATCH": 'W/"3"'}, 412, "precondition-failed"),
        ("post", "x", {"data": "[" * 2_000_000, "content_type": "application/json"}, 413, "body-too-large"),
        (
            "post",
            "x",
            {"data": "a=1", "content_type": "application/x-www-form-urlencoded"},
            415,
            "unsupported-media-type",
        ),
        ("post", "x", {"data": {"mass_g": 0}}, 422, "refused"),
        ("get", "domain", {}, 422, "refused"),
        ("patch", "x", {"data": {}}, 428, "precondition-required"),
        ("get", "breaks", {}, 500, "internal-error"),
    ],
)
def test_each_refusal_has_its_type(rules, method, address, options, status, slug):
    check_problem(getattr(rules, method)(f"/api/v1/rules/{address}", **options), status, slug)


def test_a_failing_service_tells_nothing_of_its_inside(rules):
    assert b"secret" not in rules.get("/api/v1/rules/breaks").content


def test_a_domain_error_brings_its_pointer_code_and_remedy(rules):
    problem = json.loads(rules.post("/api/v1/rules/domain", {"mass_g": 1}).content)
    assert problem["errors"] == [
        {"pointer": "/weighings/2/mass_g", "code": "implausible", "detail": "Too heavy. Weigh again."}
    ]


def test_in_a_get_the_pointer_names_the_query_parameter(rules):
    problem = json.loads(rules.get("/api/v1/rules/domain").content)
    assert problem["errors"][0]["pointer"] == "?age_days"


def test_405_lists_the_methods(rules):
    assert rules.put("/api/v1/rules/x", {})["Allow"] == "GET, POST, PATCH, HEAD, OPTIONS"


def test_options_tells_the_methods_without_a_body(rules):
    answer = rules.options("/api/v1/rules/x")
    assert (answer.status_code, answer.content) == (204, b"")
    assert answer["Allow"] == "GET, POST, PATCH, HEAD, OPTIONS"


def test_412_tells_the_present_tag(rules):
    assert rules.patch("/api/v1/rules/x", {}, HTTP_IF_MATCH='"2"')["ETag"] == '"3"'


@pytest.mark.parametrize("sent", ['"3"', "*", '"1", "3"'])
def test_a_change_with_the_present_tag_passes(rules, sent):
    assert rules.patch("/api/v1/rules/x", {}, HTTP_IF_MATCH=sent).status_code == 200


def test_an_unknown_address_under_api(rules):
    check_problem(rules.get("/api/v1/nowhere"), 404, "not-found")
    check_problem(rules.post("/api/nowhere", {}), 404, "not-found")


def test_a_slash_too_many_is_404_and_names_the_right_address(rules):
    problem = check_problem(rules.get("/api/v1/rules/x/"), 404, "not-found")
    assert "/api/v1/rules/x " in problem["detail"]


def test_outside_the_api_django_answers(rules):
    assert rules.get("/nowhere")["Content-Type"].startswith("text/html")


def test_an_unknown_host_is_refused(rules):
    response = rules.get("/api/v1/rules/x", HTTP_HOST="evil.example")
    assert (response.status_code, response["Content-Type"]) == (400, "application/problem+json")


def test_a_number_that_json_has_not_never_leaves(rules):
    check_problem(rules.get("/api/v1/rules/nan"), 500, "internal-error")


def test_too_many_requests(rules, settings, standing_clock):
    settings.RATE_LIMITS = {**settings.RATE_LIMITS, "compute": (2, 60)}
    for left in (1, 0):
        response = rules.get("/api/v1/rules/x")
        assert response.status_code == 200
        assert response["RateLimit-Policy"] == '"compute";q=2;w=60'
        assert response["RateLimit"] == f'"compute";r={left};t=60'
    response = rules.get("/api/v1/rules/x")
    check_problem(response, 429, "quota-exceeded")
    assert response["Retry-After"] == "60"
    assert response["RateLimit"] == '"compute";r=0;t=60'
    with clock.standing_at(datetime(2027, 5, 2, 5, 1, tzinfo=UTC)):
        assert rules.get("/api/v1/rules/x").status_code == 200


def test_each_address_has_its_own_quota(rules, settings, standing_clock):
    settings.RATE_LIMITS = {**settings.RATE_LIMITS, "compute": (1, 60)}
    assert [rules.get("/api/v1/rules/x", REMOTE_ADDR=f"192.0.2.{n}").status_code for n in (1, 2, 1)] == [200, 200, 429]


def test_a_forged_forwarding_header_brings_no_new_quota(rules, settings, standing_clock):
    settings.RATE_LIMITS = {**settings.RATE_LIMITS, "compute": (1, 60)}
    sent = [rules.get("/api/v1/rules/x", HTTP_X_FORWARDED_FOR=f"192.0.2.{n}").status_code for n in (1, 2)]
    assert sent == [200, 429]


def test_answers_to_one_caller_are_kept_by_no_cache(rules):
    assert rules.post("/api/v1/rules/x", {"mass_g": 1})["Cache-Control"] == "no-store"


@pytest.mark.parametrize(("sent", "status"), [('"3"', 304), ('W/"3"', 304), ("*", 304), ('"2"', 200), ("", 200)])
def test_what_the_caller_has_is_not_sent_again(rules, sent, status):
    response = rules.get("/api/v1/rules/x", HTTP_IF_NONE_MATCH=sent)
    assert (response.status_code, response["ETag"]) == (status, '"3"')
    assert bool(response.content) == (status == 200)


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("a-1.b_C", True),
        ("x" * 64, True),
        ("x" * 65, False),
        ("a b", False),
        ("a\nb", False),
        ("<script>", False),
        ("", False),
    ],
)
def test_a_sane_request_id_is_given_back(rules, sent, kept):
    returned = rules.get("/api/v1/rules/x", HTTP_X_REQUEST_ID=sent)["X-Request-Id"]
    assert (returned == sent) is kept
    assert returned


# RFC 9457, section 3.1.4: detail explains this occurrence; a 400 that quotes a refused value would mislead.
@pytest.mark.parametrize("turned", [False, True])
def test_of_mixed_faults_one_speaks_that_decided_the_status(turned):
    faults = [Fault("/mass_g", "greater_than", "Must be greater than 0."), Fault("/sex", "unknown_field", "No such.")]
    problem = faults_problem(faults[::-1] if turned else faults)
    assert (problem.status_code, str(problem.detail)) == (400, "/sex: No such. (1 more in errors)")
    assert set(problem.errors) == set(faults)


def test_refused_is_422():
    assert refused("/species", "unknown_species", "There is no such species.").status_code == 422


@pytest.mark.parametrize("slug", KINDS)
def test_every_type_is_documented_at_its_own_address(api, slug):
    described = api.get(f"/api/v1/problems/{slug}").json()
    assert described["type"] == f"http://testserver/api/v1/problems/{slug}"
    assert described["status"] == KINDS[slug].status
    page = api.get(f"/api/v1/problems/{slug}", HTTP_ACCEPT="text/html,*/*;q=0.1")
    assert page["Content-Type"].startswith("text/html")
    assert KINDS[slug].title in page.content.decode()


def test_all_types_are_listed(api):
    assert [kind["slug"] for kind in api.get("/api/v1/problems").json()["results"]] == list(KINDS)
