"""From looks to alerts: opened once, no flicker, closed only when it has been quiet long enough."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.alerts.rules.hysteresis import OpenAlert, transitions
from api.alerts.rules.looks import Look, finding_of
from api.alerts.rules.quiet import Quiet, quiet_of
from api.web.rules.cautions import Severity

START = datetime(2027, 5, 2, 6, 0, tzinfo=UTC)
NOTE, TODAY, URGENT = Severity.NOTE, Severity.ACT_TODAY, Severity.URGENT


def at(hours):
    return START + timedelta(hours=hours)


def look(hours, *found, judged=("code",), code="code"):
    """A look with findings of these severities."""
    return Look(
        at=at(hours),
        judged=frozenset(judged),
        findings=tuple(
            finding_of(code, severity, since=at(hours), text=f"at {hours}", evidence={}, sources=(), actions=())
            for severity in found
        ),
    )


def alert(severity=TODAY, *, found_h=0.0, code="code"):
    return OpenAlert(code=code, severity=severity, last_found_at=at(found_h))


TWO_LOOKS = Quiet(looks=2)


def steps(looks, *alerts, now=1000.0, quiet=TWO_LOOKS, **told):
    return transitions(looks, alerts, now=at(now), quiet=lambda code, severity: quiet, **told)


def step(looks, *alerts, **told):
    (only,) = steps(looks, *alerts, **told)
    return only.step


MORNINGS = [look(24 * day) for day in range(5)]


def test_nothing_found_nothing_said():
    assert steps(MORNINGS) == ()
    assert steps([]) == ()


def test_it_opens_when_it_is_found():
    (opened,) = steps([look(0), look(24, URGENT)])
    assert (opened.step, opened.severity, opened.last_found_at) == ("open", URGENT, at(24))
    assert opened.finding is not None
    assert opened.finding.text == "at 24"


def test_it_stays_open_after_one_clear_morning_and_closes_after_two():
    assert step([look(0, TODAY), look(24)], alert()) == "keep"
    (closed,) = steps([look(0, TODAY), look(24), look(48)], alert())
    assert (closed.step, closed.withdrawn, closed.finding) == ("close", False, None)


def test_it_does_not_flicker():
    """Found every other morning: one alert, open throughout."""
    looks = [look(24 * day, *([TODAY] if day % 2 == 0 else [])) for day in range(10)]
    assert [step(looks[:n], alert()) for n in range(1, 11)] == ["keep"] * 10


def test_it_rises_and_never_falls_while_it_is_open():
    (risen,) = steps([look(0, TODAY), look(24, URGENT)], alert())
    assert (risen.step, risen.severity) == ("escalate", URGENT)
    (kept,) = steps([look(0, URGENT), look(24, TODAY)], alert(URGENT))
    assert (kept.step, kept.severity) == ("keep", URGENT)
    assert kept.finding is not None
    assert kept.finding.text == "at 24"
    (opened,) = steps([look(0, URGENT), look(24, NOTE)])
    assert (opened.step, opened.severity, opened.last_found_at) == ("open", URGENT, at(24))
    assert opened.finding is not None
    assert opened.finding.text == "at 0"


def test_since_is_when_the_run_began():
    (kept,) = steps([look(0, TODAY), look(24), look(48, TODAY)], alert())
    assert kept.finding is not None
    assert kept.finding.since == START


def test_a_look_that_could_not_have_found_it_is_not_clear():
    blind = [look(24, judged=()), look(48, judged=())]
    assert step([look(0, TODAY), *blind], alert()) == "keep"


def test_two_clear_looks_within_the_hour_are_one():
    quiet = Quiet(looks=2, apart_h=12)
    found = [look(0, TODAY), look(4), look(5)]
    assert step(found, alert(), quiet=quiet) == "keep"
    assert step([*found, look(15.9)], alert(), quiet=quiet) == "keep"
    assert step([*found, look(16)], alert(), quiet=quiet) == "close"


def test_a_watch_closes_by_time_once_it_looked_well():
    quiet = Quiet(looks=2, apart_h=12, since_found_h=14 * 24)
    looks = [look(0, URGENT), look(24), look(48)]
    assert step(looks, alert(URGENT), now=14 * 24 - 1, quiet=quiet) == "keep"
    assert step(looks, alert(URGENT), now=14 * 24, quiet=quiet) == "close"
    assert step(looks[:1], alert(URGENT), now=30 * 24, quiet=quiet) == "keep"


def test_it_may_close_by_time_alone():
    quiet = Quiet(looks=0, since_found_h=7 * 24)
    assert step([look(0, URGENT)], alert(URGENT), now=167, quiet=quiet) == "keep"
    assert step([look(0, URGENT)], alert(URGENT), now=168, quiet=quiet) == "close"
    assert step([], alert(URGENT), now=168, quiet=quiet) == "close"


def test_what_came_late_opens_what_would_be_open_had_it_come_in_time():
    """A week written on paper and sent at once: found two mornings ago and clear yesterday is not over yet."""
    assert step([look(0), look(24, TODAY), look(48)]) == "open"
    assert steps([look(0, TODAY), look(24), look(48)]) == ()


def test_found_again_after_it_was_over_it_opens_anew():
    looks = [look(0, URGENT), look(24), look(48), look(72, NOTE)]
    (again,) = steps(looks)
    assert (again.step, again.severity, again.finding.since if again.finding else None) == ("open", NOTE, at(72))


def test_what_a_person_settled_is_settled():
    looks = [look(0, TODAY), look(24)]
    assert steps(looks, settled={"code": at(1)}) == ()
    assert step([*looks, look(48, TODAY)], settled={"code": at(1)}) == "open"


def test_a_corrected_record_withdraws_at_once():
    (closed,) = steps([look(0), look(24)], alert(found_h=24))
    assert (closed.step, closed.withdrawn) == ("close", True)
    (closed,) = steps([], alert(found_h=24), covered_from=at(0))
    assert (closed.step, closed.withdrawn) == ("close", True)


def test_an_alert_from_before_the_looks_given_goes_on_until_they_are_clear():
    assert step([look(48)], alert(found_h=0)) == "keep"
    (closed,) = steps([look(48), look(72)], alert(found_h=0))
    assert (closed.step, closed.withdrawn) == ("close", False)
    assert step([], alert(found_h=0)) == "keep"
    assert step([look(48)], alert(found_h=30), covered_from=at(24)) == "close"


def test_codes_are_told_apart():
    looks = [look(0, TODAY), look(24, URGENT, code="other", judged=("code",))]
    found = steps(looks, alert(code="third"), now=25)
    assert [(one.code, one.step) for one in found] == [("code", "open"), ("other", "open"), ("third", "close")]


SEVERITIES = st.sampled_from([(), (), (NOTE,), (TODAY,), (URGENT,)])


@given(st.lists(st.tuples(st.integers(0, 400), SEVERITIES), unique_by=lambda drawn: drawn[0], max_size=12), st.data())
def test_neither_order_nor_number_of_times_matters(drawn, data):
    """An app that was offline sends its looks in any order: the state is the same, and going through it again stays."""
    looks = [look(hours, *found) for hours, found in drawn]
    shuffled = data.draw(st.permutations(looks))
    assert steps(shuffled) == steps(looks)
    for one in steps(looks):
        standing = OpenAlert(code=one.code, severity=one.severity, last_found_at=one.last_found_at)
        (again,) = steps(shuffled, standing)
        assert (again.step, again.severity, again.last_found_at) == ("keep", one.severity, one.last_found_at)


@given(st.lists(st.tuples(st.integers(1, 30), SEVERITIES), min_size=1, max_size=15))
def test_gone_through_look_by_look_it_is_where_it_is_all_at_once(drawn):
    """Looks that come one at a time leave the same alert as all together; and none opens while one is open."""
    looks, hours = [], 0
    for apart, found in drawn:
        hours += apart
        looks.append(look(hours, *found))
    standing = None
    for n, last in enumerate(looks, start=1):
        alerts = [standing] if standing else []
        for one in transitions(looks[:n], alerts, now=last.at, quiet=lambda code, severity: Quiet(looks=2, apart_h=12)):
            assert (one.step == "open") is (standing is None)
            ends = one.step == "close"
            standing = None if ends else OpenAlert(code="code", severity=one.severity, last_found_at=one.last_found_at)
    whole = transitions(looks, [], now=looks[-1].at, quiet=lambda code, severity: Quiet(looks=2, apart_h=12))
    assert bool(whole) is (standing is not None)
    if standing:
        assert whole[0].last_found_at == standing.last_found_at


@given(st.lists(st.integers(1, 48), min_size=3, max_size=12))
def test_between_a_finding_and_the_end_lie_two_clear_looks_twelve_hours_apart(gaps):
    """Straight from the sentence, without our reckoning."""
    hours = [0]
    for gap in gaps:
        hours.append(hours[-1] + gap)
    looks = [look(hours[0], TODAY), *(look(hour) for hour in hours[1:])]
    closed = step(looks, alert(), now=hours[-1], quiet=Quiet(looks=2, apart_h=12)) == "close"
    assert closed is (hours[-1] - hours[1] >= 12)


@pytest.mark.parametrize(
    ("code", "severity", "since_found_h"),
    [
        pytest.param("too_hot", URGENT, 14 * 24, id="RIV08 10 to 14 days"),
        pytest.param("too_hot", TODAY, 0, id="a little too hot burns nothing"),
        pytest.param("crop_injury", TODAY, 14 * 24, id="RIV08 10 to 14 days"),
        pytest.param("cluster_of_deaths", URGENT, 7 * 24, id="COMMON a week"),
        pytest.param("weight_loss", URGENT, 0, id="two mornings"),
    ],
)
def test_what_ends_an_alert(code, severity, since_found_h):
    assert quiet_of(code, severity).since_found_h == since_found_h


def test_graver_findings_are_no_easier_to_close():
    codes = ["crop_slow", "crop_stopped", "too_hot", "overfilled", "aspiration_suspected", "no_gain", "unheard_of"]
    for code in codes:
        for milder, graver in pairwise((NOTE, TODAY, URGENT)):
            assert quiet_of(code, milder).since_found_h <= quiet_of(code, graver).since_found_h
            assert quiet_of(code, milder).looks <= quiet_of(code, graver).looks
