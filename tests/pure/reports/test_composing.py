"""Who needs you, what a missed weighing is, which feeds are tonight's: decisions over plain values."""

import random
from datetime import UTC, date, datetime, timedelta

import msgspec
import pytest

from api.plans.rules.plan import Decision, WeaningPhase
from api.reports.rules.composing import (
    MOST_CHARTS,
    birds_to_draw,
    census,
    compose,
    missed_weighings,
    night_feeds,
)
from api.reports.rules.report import Need, Report
from api.reports.rules.seen import QuestionedWeight
from api.web.rules.cautions import Severity
from tests.pure.reports.morning import alert, at, bird, drawn, full_morning, number, occasion


def report(**given) -> Report:
    return compose(occasion(), **{"birds": (), "alerts": (), "drawn": (), "outcomes": (), **given})


# --- who needs you


def needing(**given):
    return [(one.bird, one.reasons[0].need) for one in report(**given).needs_you]


def test_order_is_urgency_then_vet_then_doubt_then_the_days_work():
    birds = [
        bird(1, "unweighed", last_weighed_at=at(6, days=-2)),
        bird(2, "today"),
        bird(3, "doubted", questioned=(QuestionedWeight(at=at(6), mass_g=260.0),)),
        bird(4, "vet", decision=Decision.SEE_VET, vet_needed=True, vet_within_h=8),
        bird(5, "cold", decision=Decision.WARM_FIRST),
        bird(6, "urgent"),
        bird(7, "well"),
    ]
    alerts = [alert(11, birds[1]), alert(12, birds[5], severity=Severity.URGENT)]
    random.Random(1).shuffle(birds)
    assert needing(birds=birds, alerts=alerts) == [
        ("urgent", Need.URGENT_ALERT),
        ("cold", Need.NOT_FED),
        ("vet", Need.SEE_VET),
        ("doubted", Need.WEIGHT_QUESTIONED),
        ("today", Need.ACT_TODAY),
        ("unweighed", Need.NOT_WEIGHED),
    ]


def test_a_vet_within_the_hour_goes_before_one_today():
    birds = [
        bird(1, "later", decision=Decision.SEE_VET, vet_needed=True, vet_within_h=8),
        bird(2, "now", decision=Decision.SEE_VET, vet_needed=True, vet_within_h=1),
    ]
    assert [name for name, _ in needing(birds=birds)] == ["now", "later"]


def test_a_bird_stands_once_with_all_its_reasons_the_most_pressing_first():
    quill = bird(decision=Decision.SEE_VET, vet_needed=True, vet_within_h=8, vet_reasons=("It limps.",))
    (one,) = report(birds=[quill], alerts=[alert(1, quill), alert(2, quill, severity=Severity.URGENT)]).needs_you
    assert [reason.need for reason in one.reasons] == [Need.URGENT_ALERT, Need.SEE_VET, Need.ACT_TODAY]


def test_a_vet_that_the_plan_asks_for_beside_a_feed_is_told_too():
    assert needing(birds=[bird(vet_needed=True, vet_within_h=24, vet_reasons=("Splayed legs.",))]) == [
        ("Quill", Need.SEE_VET)
    ]


@pytest.mark.parametrize("decision", [None, *Decision])
def test_only_a_bird_that_is_fed_or_feeds_itself_needs_nobody(decision):
    """Every decision of a plan: what holds a feed back is somebody's work, and so is a bird without a plan."""
    quiet = {
        Decision.FEED,
        Decision.TOP_UP,
        Decision.WEIGH_FIRST,
        Decision.SELF_FEEDING,
        Decision.WAIT_FOR_YOLK,
        Decision.RETURN_TO_PARENTS,
    }
    told = bool(report(birds=[bird(decision=decision)]).needs_you)
    assert told is (decision not in quiet)


def test_a_bird_without_a_plan_says_why():
    (one,) = report(birds=[bird(decision=None, no_plan_because="Its age is not known.")]).needs_you
    assert one.reasons[0].need is Need.NO_PLAN
    assert "Its age is not known." in one.reasons[0].why


def test_a_note_needs_nobody():
    assert needing(birds=[bird()], alerts=[alert(severity=Severity.NOTE)]) == []


@pytest.mark.parametrize(
    ("severity", "acknowledged_at", "told"),
    [
        (Severity.ACT_TODAY, None, True),
        (Severity.ACT_TODAY, at(20, days=-1), False),  # somebody's, until the next report
        (Severity.ACT_TODAY, at(20, days=-3), True),  # and still open after it
        (Severity.URGENT, at(20, days=-1), True),
    ],
)
def test_an_acknowledged_alert_is_somebodys_until_the_next_report(severity, acknowledged_at, told):
    alerts = [alert(severity=severity, acknowledged_at=acknowledged_at)]
    assert bool(report(birds=[bird()], alerts=alerts).needs_you) is told


def test_an_alert_of_a_whole_site_needs_you_without_a_bird():
    cluster = alert(bird_id=None, bird=None, species=None, code="cluster_of_deaths", severity=Severity.URGENT)
    (one,) = report(birds=[bird()], alerts=[cluster]).needs_you
    assert (one.bird, one.site) == (None, "Mill Cottage")


# --- missed weighings


@pytest.mark.parametrize(
    ("weighed", "missed"),
    [
        (None, True),
        (at(23, 59, days=-2), True),
        (at(0, 0, days=-1), False),
        (at(23, 59, days=-1), False),
        (at(6, 30), False),  # this morning: what would be asked for has been done
    ],
)
def test_a_growing_bird_has_to_be_weighed_in_the_local_day_before(weighed, missed):
    assert bool(missed_weighings(occasion(), [bird(last_weighed_at=weighed)])) is missed


@pytest.mark.parametrize(("came", "missed"), [(at(23, 59, days=-2), True), (at(0, 0, days=-1), False)])
def test_a_bird_that_came_during_the_day_is_let_settle(came, missed):
    assert bool(missed_weighings(occasion(), [bird(in_care_since=came, last_weighed_at=None)])) is missed


@pytest.mark.parametrize(
    "fields",
    [
        {"weaning": WeaningPhase.WEANED},
        {"weaning": WeaningPhase.NOT_APPLICABLE},
        {"decision": Decision.SELF_FEEDING},
    ],
)
def test_a_bird_that_feeds_itself_is_not_missed(fields):
    assert missed_weighings(occasion(), [bird(last_weighed_at=None, **fields)]) == ()


@pytest.mark.parametrize("phase", [WeaningPhase.EXPLORING, WeaningPhase.STEPPING_DOWN, WeaningPhase.STEP_BACK, None])
def test_a_bird_on_its_way_to_feed_itself_or_without_a_plan_is_missed(phase):
    assert missed_weighings(occasion(), [bird(last_weighed_at=None, weaning=phase)])


def test_the_day_is_the_networks_own():
    """14:00 UTC of 30 April is 02:45 of 1 May on Chatham (UTC+12:45 in May: IANA tzdb, Pacific/Chatham)."""
    weighed = bird(last_weighed_at=datetime(2027, 4, 30, 14, 0, tzinfo=UTC), in_care_since=at(12, days=-9))
    assert missed_weighings(occasion(time_zone="Pacific/Chatham"), [weighed]) == ()
    assert missed_weighings(occasion(time_zone="Europe/Lisbon"), [weighed])


def test_the_longest_without_a_weight_stand_first():
    birds = [
        bird(1, "b", last_weighed_at=at(6, days=-2)),
        bird(2, "c", last_weighed_at=None),
        bird(3, "a", last_weighed_at=at(6, days=-5)),
    ]
    assert [one.bird for one in missed_weighings(occasion(), birds)] == ["c", "a", "b"]


def test_a_questioned_weight_is_no_weight_but_asks_for_one_only_once():
    doubted = bird(last_weighed_at=at(6, days=-3), questioned=(QuestionedWeight(at=at(6, days=-1), mass_g=1.9),))
    made = report(birds=[doubted])
    assert len(made.missed_weighings) == 1
    assert [reason.need for reason in made.needs_you[0].reasons] == [Need.WEIGHT_QUESTIONED]


# --- tonight


def test_tonight_lies_between_the_last_feed_of_the_evening_and_the_first_of_the_morning():
    times = [at(5, 30), at(22), at(22, 5), at(0, days=1), at(5, 55, days=1), at(6, days=1)]
    feeds = night_feeds(occasion(), [bird(timetable=tuple(times))])
    assert [feed.at for feed in feeds] == [at(22, 5), at(0, days=1), at(5, 55, days=1)]


def test_birds_of_one_site_at_one_time_are_one_feed():
    midnight = (at(0, days=1),)
    feeds = night_feeds(
        occasion(),
        [
            bird(1, "Reed", timetable=midnight, portion="1.4 mL"),
            bird(2, "Quill", timetable=(at(0, days=1).astimezone(UTC),), portion="2 mL"),
            bird(3, "Ash", site="Centre", timetable=midnight, portion="2 mice"),
        ],
    )
    assert [(feed.site, [(one.bird, one.portion) for one in feed.portions]) for feed in feeds] == [
        ("Centre", [("Ash", "2 mice")]),
        ("Mill Cottage", [("Quill", "2 mL"), ("Reed", "1.4 mL")]),
    ]


@pytest.mark.parametrize(
    ("on", "instants"),
    [
        # Lisbon, IANA tzdb: clocks go 01:00 -> 02:00 on 28 March 2027 and 02:00 -> 01:00 on 31 October 2027.
        (date(2027, 3, 27), 14),
        (date(2027, 10, 30), 18),
        (date(2027, 5, 2), 16),
    ],
)
def test_a_night_with_a_change_of_clocks_loses_and_doubles_no_feed(on, instants):
    """One feed in each half of an hour of real time, from noon to noon: those of the night are counted."""
    noon = datetime(on.year, on.month, on.day, 12, 0, tzinfo=UTC)
    times = tuple(noon + timedelta(minutes=15 + 30 * n) for n in range(48))
    assert len(night_feeds(occasion(on=on), [bird(timetable=times)])) == instants


# --- counts, alerts, outcomes


def test_birds_are_counted_three_ways_the_most_first():
    seen = census([bird(1), bird(2, site="Centre"), bird(3, species="Barn owl", stage=None)])
    assert [(one.name, one.birds) for one in seen.by_species] == [("Cockatiel", 2), ("Barn owl", 1)]
    assert [(one.name, one.birds) for one in seen.by_stage] == [("Pin feathers", 2), (None, 1)]
    assert [(one.name, one.birds) for one in seen.by_site] == [("Mill Cottage", 2), ("Centre", 1)]


def test_alerts_of_a_bird_stand_together_at_the_place_of_its_worst_with_one_chart():
    quill, reed = bird(1), bird(2, "Reed")
    alerts = [
        alert(11, quill, severity=Severity.NOTE),
        alert(12, reed, severity=Severity.ACT_TODAY),
        alert(13, quill, severity=Severity.URGENT),
    ]
    told = report(birds=[quill, reed], alerts=alerts, drawn=[drawn(quill, 20.0, 26.0)]).alerts
    assert [(one.bird, one.severity.value, one.chart is not None) for one in told] == [
        ("Quill", "urgent", True),
        ("Quill", "note", False),
        ("Reed", "act_today", False),
    ]


@pytest.mark.parametrize(("opened", "new"), [(at(6, 59, days=-1), False), (at(7, days=-1), True), (at(6), True)])
def test_an_alert_is_new_if_the_last_report_could_not_tell_it(opened, new):
    assert report(alerts=[alert(opened_at=opened)]).alerts[0].new is new


def test_charts_are_drawn_for_the_worst_and_for_no_more_than_a_mail_holds():
    alerts = [alert(200 + n, bird(n, f"bird {n}")) for n in range(1, 30)]
    alerts.append(alert(300, bird(99), severity=Severity.URGENT))
    chosen = birds_to_draw(alerts)
    assert len(chosen) == MOST_CHARTS
    assert chosen[0] == number(99)


def test_words_of_a_chart_carry_its_figures():
    quill = bird()
    chart = (
        report(birds=[quill], alerts=[alert(of=quill)], drawn=[drawn(quill, 22.4, 25.9, 26.1, 26.0)]).alerts[0].chart
    )
    assert chart.text == (
        "Weight of Quill: 25.9 g on 29 April, 26.1 g on 30 April, 26 g yesterday. "
        "Usual at its age: 33.1 g (25.6 to 41.4 g)."
    )


def test_totals_are_those_of_the_lists():
    made = compose(occasion(), **full_morning())
    totals = made.totals
    assert (totals.birds, totals.needs_you, totals.urgent) == (8, len(made.needs_you), 2)
    assert (totals.alerts, totals.new_alerts) == (3, 2)
    assert (totals.missed_weighings, totals.night_feeds, totals.outcomes) == (1, 3, 2)


def test_order_of_what_was_read_changes_nothing():
    morning, shuffled = full_morning(), full_morning()
    for key, rows in shuffled.items():
        shuffled[key] = random.Random(key).sample(rows, len(rows))
    assert compose(occasion(), **shuffled) == compose(occasion(), **morning)


def test_a_report_goes_through_json_and_back():
    made = compose(occasion(), **full_morning())
    assert msgspec.convert(msgspec.json.decode(msgspec.json.encode(made)), Report) == made


def test_every_report_says_what_it_is_not():
    assert {caution.code for caution in report().cautions} == {"look_at_the_bird", "ask_a_vet", "law_and_licence"}
