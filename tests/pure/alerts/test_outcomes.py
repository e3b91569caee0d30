"""Two deaths at a site in 48 h (hazard 33), and which deaths count."""

from datetime import UTC, datetime, timedelta

import pytest

from api.alerts.rules.outcomes import Death, outcome_looks
from api.birds.rules.words import OutcomeKind

AT = datetime(2027, 5, 2, 6, 0, tzinfo=UTC)


def death(hours, kind=OutcomeKind.DIED, *, days_in_care=10.0, bird=None):
    at = AT + timedelta(hours=hours)
    return Death(bird=bird or f"bird-{hours}", at=at, kind=kind, admitted_at=at - timedelta(days=days_in_care))


def clusters(*deaths):
    return [finding for look in outcome_looks(deaths) for finding in look.findings]


@pytest.mark.parametrize(("apart_h", "expected"), [(1, 1), (48, 1), (48.1, 0), (72, 0)])
def test_two_within_two_days(apart_h, expected):
    assert len(clusters(death(0), death(apart_h))) == expected


def test_it_is_urgent_and_names_the_birds():
    (finding,) = clusters(death(30, bird="b"), death(0, bird="a"))
    assert (finding.code, finding.severity.value, finding.act_within_h) == ("cluster_of_deaths", "urgent", 1.0)
    assert [one["bird_id"] for one in finding.evidence["deaths"]] == ["a", "b"]
    assert finding.since == AT
    assert "2 birds died here within 30 hours" in finding.text


def test_one_death_is_no_cluster():
    assert clusters(death(0)) == []


@pytest.mark.parametrize(
    ("other", "counted"),
    [
        (death(5, OutcomeKind.EUTHANISED), True),
        (death(5, OutcomeKind.EUTHANISED, days_in_care=0.2), False),
        (death(5, OutcomeKind.DIED, days_in_care=0.2), True),
        (death(5, OutcomeKind.DEAD_ON_ARRIVAL, days_in_care=0.0), False),
        (death(5, OutcomeKind.RELEASED), False),
        (death(5, OutcomeKind.TRANSFERRED), False),
        (death(5, OutcomeKind.ESCAPED), False),
    ],
)
def test_what_counts(other, counted):
    assert bool(clusters(death(0), other)) is counted


def test_a_third_death_joins_and_a_late_one_does_not():
    looks = outcome_looks([death(0), death(40), death(80), death(200)])
    assert [len(look.findings[0].evidence["deaths"]) for look in looks] == [2, 2]
    assert [look.at for look in looks] == [AT + timedelta(hours=40), AT + timedelta(hours=80)]
