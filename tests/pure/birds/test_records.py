"""What a record of a bird can say, and what a correction makes of a weighing. Common practice, no source."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from api.birds.rules.records import refuse_later, refuse_odd_feed, refuse_odd_release, state_after_correction
from species.domain.errors import DomainError

EIGHT = datetime(2027, 5, 2, 8, 0, tzinfo=UTC)
FEED = {"at": EIGHT, "until": None, "count": 1, "food": None, "volume_ml": Decimal("2.5"), "mass_g": None}


@pytest.mark.parametrize(
    "told",
    [
        {},
        {"volume_ml": Decimal(0)},
        {"volume_ml": None, "mass_g": Decimal("1.2")},
        {"volume_ml": None, "food": "crickets"},
        {"count": 12, "until": EIGHT + timedelta(hours=6)},
        {"count": 12, "until": EIGHT + timedelta(hours=24)},
        {"until": EIGHT},
    ],
)
def test_feeds_as_they_are_told(told):
    refuse_odd_feed(**{**FEED, **told})


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({"volume_ml": None}, "nothing_given"),
        ({"count": 2}, "until_missing"),
        ({"until": EIGHT - timedelta(seconds=1)}, "until_before_at"),
        ({"count": 12, "until": EIGHT + timedelta(hours=24, seconds=1)}, "run_too_long"),
    ],
)
def test_odd_feeds(told, code):
    with pytest.raises(DomainError) as refused:
        refuse_odd_feed(**{**FEED, **told})
    assert refused.value.code == code


@pytest.mark.parametrize("kind", ["released", "returned_to_parents", "fostered"])
def test_a_release_of_a_bird_set_free(kind):
    refuse_odd_release(kind, released=True)


@pytest.mark.parametrize("kind", ["died", "euthanised", "dead_on_arrival", "escaped", "retained"])
def test_a_release_of_a_bird_that_was_not(kind):
    refuse_odd_release(kind, released=False)
    with pytest.raises(DomainError, match="release"):
        refuse_odd_release(kind, released=True)


def test_what_was_before_lies_before():
    refuse_later(EIGHT, EIGHT, what="The last feed", field="/last_feed_at")
    with pytest.raises(DomainError) as refused:
        refuse_later(EIGHT + timedelta(minutes=1), EIGHT, what="The last feed", field="/last_feed_at")
    assert (refused.value.code, refused.value.field) == ("later_than_record", "/last_feed_at")


@pytest.mark.parametrize(
    ("state", "corrected", "answer", "after"),
    [
        ("accepted", (), None, "accepted"),
        ("questioned", (), None, "questioned"),
        ("questioned", (), "confirmed", "confirmed"),
        ("questioned", (), "rejected", "rejected"),
        ("questioned", ("mass_g",), None, "accepted"),
        ("questioned", ("bird",), None, "accepted"),
        ("questioned", ("at",), None, "accepted"),
        ("confirmed", ("at",), None, "confirmed"),
        ("confirmed", ("mass_g",), None, "accepted"),
        ("rejected", ("at",), None, "rejected"),
        ("rejected", ("bird",), None, "accepted"),
        ("rejected", ("mass_g",), "confirmed", "confirmed"),
    ],
)
def test_a_weighing_after_a_correction(state, corrected, answer, after):
    assert state_after_correction(state, corrected=corrected, answer=answer) == after
