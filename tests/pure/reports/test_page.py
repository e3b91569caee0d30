"""The words of a report: the most urgent fact first, long lists cut, nothing typed that breaks a line."""

import pytest

from api.plans.rules.plan import Decision
from api.reports.rules.composing import compose
from api.reports.rules.page import MOST_LINES, MOST_NEEDS, page_of
from api.reports.rules.plain_text import WIDTH, as_text
from api.reports.rules.wording import one_line, sentences, within
from api.web.rules.cautions import Severity
from tests.pure.reports.morning import alert, at, bird, full_morning, occasion

NOTHING = {"birds": (), "alerts": (), "drawn": (), "outcomes": ()}


def page(whole=False, **given):
    return page_of(compose(occasion(), **{**NOTHING, **given}), whole=whole)


COLD = {"decision": Decision.WARM_FIRST}
VET = {"decision": Decision.SEE_VET, "vet_needed": True, "vet_within_h": 8.0}
UNWEIGHED = {"last_weighed_at": None}


@pytest.mark.parametrize(
    ("birds", "subject"),
    [
        ([], "No bird is in care"),
        ([{}], "No bird waits for you"),
        ([VET], "1 bird needs you today"),
        ([VET, VET], "2 birds need you today"),
        ([COLD], "1 bird needs you at once"),
        ([COLD, COLD, VET], "2 birds need you at once, 1 more today"),
        ([UNWEIGHED], "1 bird to weigh"),
        ([VET, UNWEIGHED, UNWEIGHED], "1 bird needs you today, 2 to weigh"),
    ],
)
def test_subject_has_the_most_urgent_fact_first(birds, subject):
    seen = [bird(n, f"bird {n}", **fields) for n, fields in enumerate(birds, start=1)]
    assert page(birds=seen).subject == f"{subject}: Long Meadow Bird Rescue, Sunday 2 May"


def test_subject_holds_letters_that_show_and_nothing_else():
    """A mail's head takes no joiner (U+200D) and no soft hyphen; the page keeps what a script needs."""
    made = page_of(compose(occasion(network="Mea\u00addow \U0001f426\u200d\u2b1b"), **NOTHING))
    assert made.subject == "No bird is in care: Meadow \U0001f426\u2b1b, Sunday 2 May"
    assert made.subject.isprintable()


def test_a_site_among_the_birds_is_a_case():
    cluster = alert(bird_id=None, bird=None, species=None, severity=Severity.URGENT)
    assert page(alerts=[cluster]).headline == "1 case needs you at once."
    assert page(alerts=[cluster]).needs.shown[0].who == "The whole site"


def test_a_report_with_nothing_to_say_says_so():
    assert page(birds=[bird()]).quiet == "No alert is open, every bird was weighed."
    assert page().quiet == "No bird is in care and no alert is open."
    assert "every bird was weighed" in as_text(page(birds=[bird()]), link=None)


def test_a_note_that_needs_nobody_does_not_make_the_morning_quiet():
    quill = bird()
    assert page(birds=[quill], alerts=[alert(of=quill, severity=Severity.NOTE)]).quiet is None


def test_long_lists_are_cut_with_their_number_and_never_the_most_urgent():
    birds = [bird(n, f"late {n}", **VET) for n in range(1, 60)] + [bird(99, "first", **COLD)]
    needs = page(birds=birds).needs
    assert len(needs.shown) == MOST_NEEDS
    assert needs.shown[0].who.startswith("first")
    assert needs.more == f"and {60 - MOST_NEEDS} more birds that need you"


def test_a_whole_page_cuts_nothing():
    birds = [bird(n, f"bird {n}", **VET) for n in range(1, 60)]
    whole = page(whole=True, birds=birds).needs
    assert (len(whole.shown), whole.more) == (59, None)


def test_a_list_of_just_its_length_is_whole():
    exactly, one_more = (
        page(birds=[bird(n, f"bird {n}", **UNWEIGHED) for n in range(count)]).missed
        for count in (MOST_LINES, MOST_LINES + 1)
    )
    assert exactly.more is None
    assert one_more.more == "and 1 more bird"


def test_what_to_do_is_told_once():
    quill, reed = bird(1), bird(2, "Reed")
    acknowledged = {"acknowledged_at": at(20, days=-1), "acknowledged_by": "Ines Carvalho"}
    of_quill, of_reed = page(birds=[quill, reed], alerts=[alert(1, quill), alert(2, reed, **acknowledged)]).alerts.shown
    assert of_quill.alerts[0].actions == ()  # it stands above, where the bird needs somebody
    assert of_reed.alerts[0].actions
    assert "Acknowledged by Ines Carvalho, yesterday 20:00." in of_reed.alerts[0].standing


def test_an_acknowledged_alert_keeps_its_steps_where_its_bird_needs_somebody_for_another_reason():
    quill = bird(**VET)
    (shown,) = page(birds=[quill], alerts=[alert(of=quill, acknowledged_at=at(20, days=-1))]).alerts.shown
    assert shown.alerts[0].actions


def test_times_are_those_of_the_networks_wall():
    chatham = page_of(compose(occasion(time_zone="Pacific/Chatham"), **full_morning()))
    # 07:00 in Lisbon is 06:00 UTC, 18:45 on Chatham in May (UTC+12:45, IANA tzdb).
    assert "18:45" in chatham.covers
    assert "Pacific/Chatham" in chatham.covers


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("Quill\nBcc: thief@example.org", "Quill Bcc: thief@example.org"),
        ("Quill\r\n\r\n<b>body</b>", "Quill <b>body</b>"),
        ("a\x00b\x1b[31m\u2028c\u2029d\x85e", "a b [31m c d e"),
        ("\u202eevil\u202c name\u2066", "evil name"),
        ("  two   spaces ", "two spaces"),
        ("Zoë 🐦‍⬛ Łucja نورس", "Zoë 🐦‍⬛ Łucja نورس"),
        ("x" * 49, "x" * 47 + "…"),
    ],
)
def test_typed_text_becomes_one_harmless_line(typed, shown):
    assert one_line(typed) == shown


def test_long_findings_end_at_a_word():
    assert sentences("word " * 200).endswith("word…")
    assert len(sentences("word " * 200)) <= 300


@pytest.mark.parametrize(
    ("hours", "words"),
    [(1, "within the hour"), (8, "today, before the last feed"), (24, "within 24 hours"), (None, "at the next look")],
)
def test_how_soon_in_words(hours, words):
    assert within(hours) == words


def test_plain_text_says_all_that_the_page_says_in_lines_that_fit():
    made = page(**full_morning())
    text = as_text(made, link="https://long-meadow.example/r")
    assert all(len(line) <= WIDTH for line in text.splitlines() if "://" not in line)
    flat = " ".join(text.split())
    for need in made.needs.shown:
        assert all(words in flat for words in (need.who, need.where, *need.whys, *need.what_to_do))
    for group in made.alerts.shown:
        assert group.chart.text in flat
        assert all(one.text in flat and one.standing in flat for one in group.alerts)
    for line in (*made.missed.shown, *made.outcomes.shown, *made.cautions):
        assert line in flat
    for site in made.night.shown:
        assert all(f"{at} {portions}" in flat for at, portions in site.feeds)


@pytest.mark.parametrize("typed", ["Quill\nNEEDS YOU TODAY\n---", "\u2028Quill"])
def test_a_name_opens_no_line_of_its_own(typed):
    seen = bird(name=typed, **VET)
    clean = as_text(page(birds=[bird(name="Quill", **VET)]), link=None)
    assert len(as_text(page(birds=[seen]), link=None).splitlines()) <= len(clean.splitlines()) + 1
