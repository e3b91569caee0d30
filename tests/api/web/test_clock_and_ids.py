from datetime import UTC, date, datetime

import pytest

from api.tenancy.ids import new_id
from api.web import clock


def test_the_day_depends_on_the_zone():
    """Half an hour before midnight in UTC it is the next day in Lisbon in summer, and still the same in Chicago."""
    with clock.standing_at(datetime(2027, 7, 1, 23, 30, tzinfo=UTC)):
        assert clock.today("Europe/Lisbon") == date(2027, 7, 2)
        assert clock.today("America/Chicago") == date(2027, 7, 1)


def test_a_naive_instant_is_refused():
    with pytest.raises(ValueError, match="offset"), clock.standing_at(datetime(2027, 7, 1)):  # noqa: DTZ001
        pass


def test_the_clock_runs_again_afterwards():
    with clock.standing_at(datetime(2000, 1, 1, tzinfo=UTC)):
        assert clock.now().year == 2000
    assert clock.now().year > 2020


def test_ids_follow_rfc_9562_version_7():
    """RFC 9562, appendix A.6: the instant 2022-02-22T19:22:22Z is 0x017F22E279B0 milliseconds."""
    with clock.standing_at(datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC)):
        made = new_id()
    assert made.hex.startswith("017f22e279b0")
    assert (made.version, made.variant) == (7, "specified in RFC 4122")


def test_ids_differ_within_a_millisecond(standing_clock):
    assert len({new_id() for _ in range(1000)}) == 1000
