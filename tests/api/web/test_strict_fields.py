"""Values that merely look like what is asked for."""

from datetime import UTC
from decimal import Decimal

import pytest
from rest_framework.test import APIRequestFactory
from rest_framework.views import APIView

from api.web.problem import Problem, faults_of, faults_problem
from api.web.strict import (
    QueryParameters,
    StrictBooleanField,
    StrictCharField,
    StrictChoiceField,
    StrictDateField,
    StrictDateTimeField,
    StrictDecimalField,
    StrictFloatField,
    StrictIntegerField,
    StrictListField,
    StrictSerializer,
    StrictTimeField,
    TimeZoneField,
)


class Weighing(StrictSerializer):
    at = StrictDateTimeField()
    mass_g = StrictFloatField(greater_than=0, max_value=20_000)


class Everything(StrictSerializer):
    mass_g = StrictFloatField(greater_than=0, max_value=20_000, required=False)
    feeds_per_day = StrictIntegerField(min_value=1, max_value=96, required=False)
    scale_step_g = StrictDecimalField(places=3, min_value=-1, max_value=1000, required=False)
    label = StrictCharField(max_length=10, required=False)
    weaning = StrictBooleanField(required=False)
    hatched_on = StrictDateField(required=False)
    first = StrictTimeField(required=False)
    time_zone = TimeZoneField(required=False)
    body = StrictChoiceField(choices=["warm", "cool", "cold"], required=False)
    labels = StrictListField(child=StrictCharField(), max_length=3, required=False)
    weighings = Weighing(many=True, required=False)
    weighing = Weighing(required=False)


def problem_of(data) -> Problem:
    serializer = Everything(data=data)
    assert not serializer.is_valid(), serializer.validated_data
    return faults_problem(list(faults_of(serializer.errors)))


def value_of(name, value):
    serializer = Everything(data={name: value})
    assert serializer.is_valid(), serializer.errors
    return serializer.validated_data[name]


@pytest.mark.parametrize(
    ("data", "status", "pointer", "code"),
    [
        # 400: not understood
        ({"mass_g": True}, 400, "/mass_g", "wrong_type"),
        ({"mass_g": "1.5"}, 400, "/mass_g", "wrong_type"),
        ({"mass_g": None}, 400, "/mass_g", "null"),
        ({"mass_g": []}, 400, "/mass_g", "wrong_type"),
        ({"mass_g": {}}, 400, "/mass_g", "wrong_type"),
        ({"mass_g": 10**400}, 400, "/mass_g", "not_a_number"),
        ({"feeds_per_day": 5.5}, 400, "/feeds_per_day", "wrong_type"),
        ({"feeds_per_day": False}, 400, "/feeds_per_day", "wrong_type"),
        ({"feeds_per_day": "5"}, 400, "/feeds_per_day", "wrong_type"),
        ({"label": 5}, 400, "/label", "wrong_type"),
        ({"label": True}, 400, "/label", "wrong_type"),
        ({"weaning": 1}, 400, "/weaning", "wrong_type"),
        ({"weaning": "true"}, 400, "/weaning", "wrong_type"),
        ({"hatched_on": "02/05/2027"}, 400, "/hatched_on", "malformed"),
        ({"hatched_on": "2027-5-2"}, 400, "/hatched_on", "malformed"),
        ({"hatched_on": "20270502"}, 400, "/hatched_on", "malformed"),
        ({"hatched_on": "2027-W18-7"}, 400, "/hatched_on", "malformed"),
        ({"hatched_on": 20270502}, 400, "/hatched_on", "wrong_type"),
        ({"hatched_on": "2027-05-0٢"}, 400, "/hatched_on", "malformed"),
        ({"first": "6:30"}, 400, "/first", "malformed"),
        ({"first": "06:30:00"}, 400, "/first", "malformed"),
        ({"body": "hot"}, 400, "/body", "invalid_choice"),
        ({"body": 1}, 400, "/body", "wrong_type"),
        ({"body": ""}, 400, "/body", "invalid_choice"),
        ({"labels": "a"}, 400, "/labels", "not_a_list"),
        ({"labels": ["a", 2]}, 400, "/labels/1", "wrong_type"),
        ({"weighings": {}}, 400, "/weighings", "not_a_list"),
        ({"weighings": [7]}, 400, "/weighings/0", "invalid"),
        ({"weighings": [{"at": "2027-05-02T06:30:00Z"}]}, 400, "/weighings/0/mass_g", "required"),
        ({"weighing": {"at": "2027-05-02T06:30:00", "mass_g": 1}}, 400, "/weighing/at", "offset_missing"),
        ({"weighing": {"at": "2027-05-02", "mass_g": 1}}, 400, "/weighing/at", "malformed"),
        ({"weighing": {"at": 1, "mass_g": 1}}, 400, "/weighing/at", "wrong_type"),
        ({"weighing": []}, 400, "/weighing", "invalid"),
        ({"mass": 5}, 400, "/mass", "unknown_field"),
        ({"weighing": {"at": "2027-05-02T06:30:00Z", "mass_g": 1, "m": 1}}, 400, "/weighing/m", "unknown_field"),
        # 422: understood and refused
        ({"mass_g": 0}, 422, "/mass_g", "greater_than"),
        ({"mass_g": -1}, 422, "/mass_g", "greater_than"),
        ({"mass_g": 5_000_000}, 422, "/mass_g", "max_value"),
        ({"feeds_per_day": 0}, 422, "/feeds_per_day", "min_value"),
        ({"feeds_per_day": 10**30}, 422, "/feeds_per_day", "too_large"),
        ({"scale_step_g": "0.1"}, 400, "/scale_step_g", "wrong_type"),
        ({"scale_step_g": 0.0001}, 422, "/scale_step_g", "too_precise"),
        ({"scale_step_g": 0.1 + 0.2}, 422, "/scale_step_g", "too_precise"),
        ({"scale_step_g": 1e-320}, 422, "/scale_step_g", "too_precise"),
        ({"scale_step_g": 1e308}, 422, "/scale_step_g", "max_value"),
        ({"label": ""}, 422, "/label", "blank"),
        ({"label": "x" * 11}, 422, "/label", "max_length"),
        ({"label": "a\x00b"}, 422, "/label", "control_character"),
        ({"label": "a\nb"}, 422, "/label", "control_character"),
        ({"label": "a\x1bb"}, 422, "/label", "control_character"),
        ({"hatched_on": "2027-02-30"}, 422, "/hatched_on", "impossible_date"),
        ({"hatched_on": "2027-13-01"}, 422, "/hatched_on", "impossible_date"),
        ({"hatched_on": "0001-01-01"}, 422, "/hatched_on", "date_out_of_range"),
        ({"hatched_on": "9999-12-31"}, 422, "/hatched_on", "date_out_of_range"),
        ({"first": "24:00"}, 422, "/first", "impossible_time"),
        ({"labels": ["a", "b", "c", "d"]}, 422, "/labels", "max_length"),
        ({"weighing": {"at": "2027-05-02T25:30:00Z", "mass_g": 1}}, 422, "/weighing/at", "impossible_date"),
        ({"time_zone": "EST"}, 422, "/time_zone", "time_zone_without_rules"),
        ({"time_zone": "CET"}, 422, "/time_zone", "time_zone_without_rules"),
        ({"time_zone": "GMT+1"}, 422, "/time_zone", "time_zone_without_rules"),
        ({"time_zone": "UTC-5"}, 422, "/time_zone", "time_zone_without_rules"),
        ({"time_zone": "+01:00"}, 422, "/time_zone", "time_zone_without_rules"),
        ({"time_zone": "EST5EDT"}, 422, "/time_zone", "time_zone_without_rules"),
        ({"time_zone": "Etc/GMT+5"}, 422, "/time_zone", "time_zone_without_rules"),
        ({"time_zone": "BST"}, 422, "/time_zone", "time_zone_without_rules"),
        ({"time_zone": "Europe/Lisboa"}, 422, "/time_zone", "unknown_time_zone"),
        ({"time_zone": "../../etc/passwd"}, 422, "/time_zone", "unknown_time_zone"),
        ({"time_zone": 1}, 400, "/time_zone", "wrong_type"),
    ],
    ids=lambda value: None if isinstance(value, dict) else str(value),
)
def test_what_is_refused_where_and_how(data, status, pointer, code):
    problem = problem_of(data)
    assert problem.status_code == status
    assert [(fault.pointer, fault.code) for fault in problem.errors] == [(pointer, code)]


@pytest.mark.parametrize(
    ("name", "value", "read"),
    [
        ("mass_g", 118, 118.0),
        ("mass_g", 0.1, 0.1),
        ("feeds_per_day", 5.0, 5),
        ("label", "Käuzchen", "Käuzchen"),
        ("weaning", False, False),
        ("time_zone", "Australia/Lord_Howe", "Australia/Lord_Howe"),
        ("time_zone", "America/Argentina/Ushuaia", "America/Argentina/Ushuaia"),
        ("time_zone", "Etc/UTC", "Etc/UTC"),
        ("time_zone", "UTC", "UTC"),
    ],
)
def test_what_is_taken(name, value, read):
    assert value_of(name, value) == read


def test_an_instant_keeps_its_offset():
    for text, utc in [
        ("2027-05-02T06:30:00+01:00", "2027-05-02T05:30:00+00:00"),
        ("2027-05-02t06:30:00.250z", "2027-05-02T06:30:00.250000+00:00"),
        ("2027-05-02T06:30-09:30", "2027-05-02T16:00:00+00:00"),
    ]:
        at = value_of("weighing", {"at": text, "mass_g": 1.0})["at"]
        assert at.astimezone(UTC).isoformat() == utc


def test_near_names_are_suggested():
    assert "Did you mean mass_g?" in problem_of({"mas_g": 5}).errors[0].detail
    assert "Europe/Lisbon" in problem_of({"time_zone": "europe/lisbon"}).errors[0].detail
    assert "Did you mean warm?" in problem_of({"body": "wram"}).errors[0].detail


def test_every_fault_is_told_and_one_misunderstanding_makes_it_400():
    problem = problem_of({"mass_g": 0, "weaning": "yes", "colour": "red"})
    assert problem.status_code == 400
    assert {fault.pointer for fault in problem.errors} == {"/mass_g", "/weaning", "/colour"}


class Query(QueryParameters):
    age_days = StrictFloatField(min_value=0, required=False)
    limit = StrictIntegerField(default=50)
    wild = StrictBooleanField(required=False)
    on = StrictDateField(required=False)
    kinds = StrictListField(child=StrictChoiceField(choices=["a", "b"]), required=False)


def read_query(query: str):
    request = APIView().initialize_request(APIRequestFactory().get(f"/x?{query}"))
    return Query.read(request)


def test_numbers_of_a_query_are_read_from_text():
    values = read_query("age_days=9.5&limit=7&wild=true&on=2027-05-02&kinds=a&kinds=b")
    assert (values["age_days"], values["limit"], values["wild"]) == (9.5, 7, True)
    assert values["kinds"] == ["a", "b"]


@pytest.mark.parametrize(
    ("query", "status", "pointer", "code"),
    [
        ("nonsense=1", 400, "?nonsense", "unknown_parameter"),
        ("limit=1&limit=2", 400, "?limit", "repeated_parameter"),
        ("age_days=nine", 400, "?age_days", "wrong_type"),
        ("age_days=", 400, "?age_days", "wrong_type"),
        ("age_days=nan", 400, "?age_days", "wrong_type"),
        ("age_days=inf", 400, "?age_days", "wrong_type"),
        ("age_days=1e999", 400, "?age_days", "not_a_number"),
        ("age_days=1_0", 400, "?age_days", "wrong_type"),
        ("age_days=%201", 400, "?age_days", "wrong_type"),
        ("age_days=1٣", 400, "?age_days", "wrong_type"),
        ("limit=1.5", 400, "?limit", "wrong_type"),
        ("wild=1", 400, "?wild", "wrong_type"),
        ("kinds=c", 400, "?kinds", "invalid_choice"),
        ("age_days=-1", 422, "?age_days", "min_value"),
        ("on=2027-02-29", 422, "?on", "impossible_date"),
    ],
)
def test_what_a_query_may_not_hold(query, status, pointer, code):
    with pytest.raises(Problem) as caught:
        read_query(query)
    assert caught.value.status_code == status
    assert [(fault.pointer, fault.code) for fault in caught.value.errors] == [(pointer, code)]


@pytest.mark.parametrize("sent", [0.1, 0.001, 1, 999.999, 1000, 1e2, -1, 0.30])
def test_a_decimal_is_the_number_that_was_written(sent):
    value = value_of("scale_step_g", sent)
    assert (value, value.as_tuple().exponent) == (Decimal(str(sent)), -3)
    assert float(value) == sent
