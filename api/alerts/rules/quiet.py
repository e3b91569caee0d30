"""How long it must be quiet before an alert closes by itself. A person may close it at any time."""

from api.web.rules.cautions import Severity
from species.domain.record import Record

#: A burn of the crop shows how deep it is only after 10 to 14 days (RIV08).
WATCH_H = 14 * 24.0


class Quiet(Record, frozen=True, kw_only=True):
    """What ends an alert: all three.

    Attributes
    ----------
    looks
        That many looks in a row that could have found it and did not.
    apart_h
        Hours between the first and the last of them.
    since_found_h
        Hours since it was found last.
    """

    looks: int
    apart_h: float = 0.0
    since_found_h: float = 0.0


#: One good morning is a full crop or another scale: a gain counts when the next morning holds it.
MORNINGS = Quiet(looks=2)
#: Somebody has answered for the weight: there is nothing to wait for.
ANSWERED = Quiet(looks=1)
#: A crop that has been empty twice (practice, rule 12), on either side of a night or a day: twice within the hour is
#: one look. The same for feeds that go well. Hours: common practice, no source.
TWICE = Quiet(looks=2, apart_h=12.0)
#: Breathed-in food shows as ill breathing within a day or two. From memory, the cautious side.
TWO_DAYS = Quiet(looks=2, apart_h=12.0, since_found_h=48.0)
#: Burnt: the watch is over. A burnt crop that looks well on the second day is not well.
WATCHED = Quiet(looks=2, apart_h=12.0, since_found_h=WATCH_H)
#: No further death together with another for a week. Common practice, no source.
A_WEEK = Quiet(looks=0, since_found_h=7 * 24.0)

_OF = {
    "implausible_weight": ANSWERED,
    "crop_slow": TWICE,
    "crop_stopped": TWICE,
    "crop_content": TWICE,
    "crop_injury": WATCHED,
    "too_cool": TWICE,
    "too_dilute": TWICE,
    "too_thick": TWICE,
    "overfilled": TWICE,
    "refusing_feeds": TWICE,
    "regurgitation": TWICE,
    "aspiration_suspected": TWO_DAYS,
    "cluster_of_deaths": A_WEEK,
}


def quiet_of(code: str, severity: Severity) -> Quiet:
    """What ends an alert of a code that has reached a severity; of a weight, two mornings."""
    if code == "too_hot":
        return WATCHED if severity is Severity.URGENT else TWICE
    return _OF.get(code, MORNINGS)
