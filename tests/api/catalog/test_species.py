"""GET /species and what stands under a key."""

import msgspec
import pytest

from tests import openapi

PARROT = "/api/v1/species/fictus-psittacinus"


def problem_response(response, status):
    assert response.status_code == status, response.content
    assert response["Content-Type"] == "application/problem+json"
    return response


def problem(response, status):
    return problem_response(response, status).json()


def told(response, path):
    assert response.status_code == 200, response.content
    body = response.json()
    assert openapi.response_faults(path, "get", 200, body) == []
    return body


class TestList:
    def test_all(self, species, api):
        response = api.get("/api/v1/species")
        body = told(response, "/api/v1/species")
        assert body["count"] == 3
        assert {result["key"] for result in body["results"]} == set(species)
        assert response["Cache-Control"] == "public, max-age=86400"

    def test_search_is_forgiving_and_ranked(self, species, api):
        body = told(api.get("/api/v1/species", {"search": "marchensitich"}), "/api/v1/species")
        assert body["results"][0]["key"] == "fictus-psittacinus"

    @pytest.mark.parametrize(
        ("filters", "keys"),
        [
            ({"order": "Ficticiformes"}, ["natans-inventus-domesticus"]),
            ({"family": "fictidae", "evidence": "curated"}, ["fictus-psittacinus"]),
            ({"diet": "insectivore"}, ["fictus-muscivorus"]),
            ({"diet": "piscivore"}, []),
            ({"search": "nothing like it"}, []),
        ],
    )
    def test_filters(self, species, api, filters, keys):
        body = told(api.get("/api/v1/species", filters), "/api/v1/species")
        assert [result["key"] for result in body["results"]] == keys
        assert body["count"] == len(keys)

    def test_a_part_of_the_list(self, species, api):
        whole = [result["key"] for result in api.get("/api/v1/species").json()["results"]]
        part = api.get("/api/v1/species", {"limit": 1, "offset": 1}).json()
        assert part["count"] == 3
        assert [result["key"] for result in part["results"]] == whole[1:2]

    @pytest.mark.parametrize(
        ("query", "pointer"),
        [
            ("colour=red", "?colour"),
            ("serach=duck", "?serach"),
            ("limit=0", "?limit"),
            ("limit=201", "?limit"),
            ("limit=ten", "?limit"),
            ("offset=-1", "?offset"),
            ("diet=meat", "?diet"),
            ("evidence=good", "?evidence"),
            ("search=a&search=b", "?search"),
            ("search=", "?search"),
        ],
    )
    def test_a_parameter_that_is_none_is_refused(self, species, api, query, pointer):
        body = problem(api.get(f"/api/v1/species?{query}"), 422 if query == "search=" else 400)
        assert [fault["pointer"] for fault in body["errors"]] == [pointer]

    @pytest.mark.parametrize("search", ["x" * 101, "\x00"])
    def test_a_search_that_cannot_be_one(self, species, api, search):
        problem(api.get("/api/v1/species", {"search": search}), 422)


class TestProfile:
    def test_every_value_with_its_source(self, species, api):
        response = api.get(PARROT)
        body = told(response, "/api/v1/species/{key}")
        profile = msgspec.json.decode(msgspec.json.encode(species["fictus-psittacinus"]))
        assert {name: body[name] for name in profile} == profile
        assert body["revision"] == body["latest_revision"] == 2
        assert body["published_at"] == "2027-04-01T00:00:00Z"
        assert [source["key"] for source in body["sources"]] == ["INV", "INV2"]
        assert body["sources"][1]["seen"] is False

    def test_etag_says_the_revision_and_saves_the_body(self, species, api):
        first = api.get(PARROT)
        assert first["ETag"].startswith('"2-')
        assert first["Cache-Control"] == "public, max-age=86400"
        again = api.get(PARROT, headers={"If-None-Match": first["ETag"]})
        assert (again.status_code, again.content, again["ETag"]) == (304, b"", first["ETag"])
        assert again["Cache-Control"] == "public, max-age=86400"
        other = api.get(PARROT, headers={"If-None-Match": '"1-0"'})
        assert other.status_code == 200

    def test_an_older_revision(self, species, api):
        body = told(api.get(PARROT, {"revision": 1}), "/api/v1/species/{key}")
        assert (body["revision"], body["latest_revision"]) == (1, 2)
        assert body["longest_wait_h"] is None
        assert api.get(PARROT).json()["longest_wait_h"]["value"] == 24

    @pytest.mark.parametrize(("revision", "status"), [("3", 404), ("0", 422), ("-1", 422), ("two", 400), ("1.5", 400)])
    def test_a_revision_that_is_not_there(self, species, api, revision, status):
        body = problem(api.get(PARROT, {"revision": revision}), status)
        assert body["errors"][0]["pointer"] == "?revision"

    def test_an_unknown_species_suggests_near_ones(self, species, api):
        body = problem(api.get("/api/v1/species/fictus-psitacinus"), 404)
        assert body["near"][0] == "fictus-psittacinus"
        assert body["errors"][0]["code"] == "unknown_species"
        assert "Invented parakeet" in body["detail"]

    @pytest.mark.parametrize("key", ["%00", "zzz-zzz", "..%5C..", "x" * 500, "%F0%9F%90%A6", "fictus"])
    @pytest.mark.parametrize("under", ["", "/revisions", "/growth-curve", "/growth-curve.csv"])
    def test_a_key_that_is_none(self, species, api, key, under):
        assert "near" in problem(api.get(f"/api/v1/species/{key}{under}"), 404)

    @pytest.mark.parametrize("key", ["Invented%20parakeet", "FICTUS-PSITTACINUS"])
    def test_a_name_instead_of_a_key_is_shown_the_key(self, species, api, key):
        assert problem(api.get(f"/api/v1/species/{key}"), 404)["near"][0] == "fictus-psittacinus"

    def test_a_former_key_leads_on(self, species, api):
        response = api.get("/api/v1/species/fictus-loquax?revision=1")
        assert (response.status_code, response["Location"]) == (308, f"{PARROT}?revision=1")
        followed = api.get(response["Location"])
        assert followed.json()["key"] == "fictus-psittacinus"

    def test_head_and_options(self, species, api):
        head = api.head(PARROT)
        assert (head.status_code, head.content) == (200, b"")
        assert head["ETag"] == api.get(PARROT)["ETag"]
        options = api.options(PARROT)
        assert options.status_code == 204
        assert set(options["Allow"].split(", ")) == {"GET", "HEAD", "OPTIONS"}

    @pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
    def test_nothing_is_written_here(self, species, api, method):
        problem(getattr(api, method)(PARROT), 405)

    def test_pages_of_any_origin_may_read(self, species, api):
        response = api.get(PARROT, headers={"Origin": "https://example.org"})
        assert response["Access-Control-Allow-Origin"] == "*"
        assert "Access-Control-Allow-Credentials" not in response

    def test_throttled(self, species, api, settings, standing_clock):
        settings.RATE_LIMITS = {**settings.RATE_LIMITS, "open": (2, 60)}
        assert api.get(PARROT)["RateLimit"].startswith('"open";r=1;')
        api.get("/api/v1/species")
        assert "Retry-After" in problem_response(api.get(PARROT), 429)

    def test_a_slash_too_many_and_a_parameter_too_many(self, species, api):
        assert PARROT in problem(api.get(f"{PARROT}/"), 404)["detail"]
        problem(api.get(PARROT, {"fields": "key"}), 400)


class TestRevisions:
    def test_history(self, species, api):
        body = told(api.get(f"{PARROT}/revisions"), "/api/v1/species/{key}/revisions")
        newest, first = body["results"]
        assert (newest["revision"], first["revision"]) == (2, 1)
        (change,) = newest["changes"]
        assert change["pointer"] == "/longest_wait_h"
        assert (change["before"], change["after"]["value"]) == (None, 24)
        assert newest["sources"] == ["INV"]
        assert [source["key"] for source in body["sources"]] == ["INV", "INV2"]

    def test_former_and_unknown_keys(self, species, api):
        moved = api.get("/api/v1/species/fictus-loquax/revisions")
        assert (moved.status_code, moved["Location"]) == (308, f"{PARROT}/revisions")
        problem(api.get("/api/v1/species/nobody-here/revisions"), 404)


def test_queries(species, api, django_assert_num_queries):
    """One for the species, one for its sources; the throttle counts in the cache."""
    for path in (PARROT, f"{PARROT}/growth-curve"):
        api.get(path)
        with django_assert_num_queries(2):
            api.get(path)
    with django_assert_num_queries(2):
        api.get("/api/v1/species", {"search": "duck"})
    with django_assert_num_queries(3):
        api.get(f"{PARROT}/revisions")
