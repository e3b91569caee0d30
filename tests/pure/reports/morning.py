"""A morning at an invented rescue: birds, alerts and outcomes as a report is composed from them."""

from datetime import UTC, date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from api.plans.rules.plan import Decision, WeaningPhase
from api.reports.rules.report import Outcome
from api.reports.rules.seen import (
    AlertSeen,
    BirdSeen,
    Occasion,
    QuestionedWeight,
    WeightsDrawn,
)
from api.web.rules.cautions import Severity

LISBON = ZoneInfo("Europe/Lisbon")
ON = date(2027, 5, 2)


def at(hour: int, minute: int = 0, *, days: int = 0) -> datetime:
    """A time on the wall in Lisbon, some days after the report's day."""
    return datetime(2027, 5, 2, hour, minute, tzinfo=LISBON) + timedelta(days=days)


def number(n: int) -> UUID:
    return UUID(int=n)


def occasion(**fields) -> Occasion:
    return Occasion(
        **{
            "network": "Long Meadow Bird Rescue",
            "on": ON,
            "time_zone": "Europe/Lisbon",
            "period_start": at(7, days=-1),
            "period_end": at(7),
            "composed_at": at(7).astimezone(UTC),
            **fields,
        }
    )


def bird(n: int = 1, name: str = "Quill", **fields) -> BirdSeen:
    """A cockatiel that does well: weighed yesterday morning, fed by day."""
    return BirdSeen(
        **{
            "id": number(n),
            "name": name,
            "species": "Cockatiel",
            "site": "Mill Cottage",
            "in_care_since": at(12, days=-8),
            "stage": "Pin feathers",
            "decision": Decision.FEED,
            "weaning": WeaningPhase.NOT_STARTED,
            "last_weighed_at": at(6, 30, days=-1),
            "timetable": (at(6, 30), at(10), at(14), at(18), at(22)),
            "portion": "2 mL",
            **fields,
        }
    )


def alert(n: int = 101, of: BirdSeen | None = None, **fields) -> AlertSeen:
    """An alert of a bird, opened last evening."""
    of = bird() if of is None else of
    return AlertSeen(
        **{
            "id": number(n),
            "bird_id": of.id,
            "bird": of.name,
            "species": of.species,
            "site": of.site,
            "code": "no_gain",
            "severity": Severity.ACT_TODAY,
            "opened_at": at(19, days=-1),
            "since": at(6, 30, days=-2),
            "text": "No gain for 2 mornings: 26 g, and about 5.1 g a day is expected at this age.",
            "actions": ("Weigh again on the same scale, crop empty.", "Check warmth, crop and droppings."),
            **fields,
        }
    )


def drawn(of: BirdSeen, *masses_g: float) -> WeightsDrawn:
    mornings = tuple((at(6, 30, days=-len(masses_g) + n), mass_g) for n, mass_g in enumerate(masses_g))
    return WeightsDrawn(bird_id=of.id, weighings=mornings, expected_g=33.1, low_g=25.6, high_g=41.4)


def full_morning() -> dict:
    """Everything that a report can tell, at three sites."""
    quill = bird(1)
    reed = bird(2, "Reed", timetable=(at(6, 30), at(10), at(14), at(18), at(22), at(1, 30, days=1)), portion="1.4 mL")
    sedge = bird(
        3,
        "Sedge",
        last_weighed_at=at(6, 30, days=-3),
        timetable=(at(6, 30), at(22), at(1, 30, days=1)),
        portion="1.2 mL",
    )
    marigold = bird(4, "Marigold", questioned=(QuestionedWeight(at=at(6, 40, days=-1), mass_g=139.0),))
    ash = bird(
        5,
        "Ash",
        species="Barn owl",
        site="Long Meadow centre",
        stage="Second down",
        timetable=(at(7), at(15), at(23), at(3, days=1)),
        portion="2 mice, about 30 g",
    )
    button = bird(
        6,
        "Button",
        species="House sparrow",
        site="Long Meadow centre",
        stage="Naked",
        decision=Decision.WARM_FIRST,
        in_care_since=at(18, days=-1),
        last_weighed_at=at(18, days=-1),
        timetable=(),
        portion="",
    )
    fern = bird(
        7,
        "Fern",
        species="Feral pigeon",
        site="Harbour Street 4",
        stage="Pin feathers",
        decision=Decision.SEE_VET,
        vet_needed=True,
        vet_within_h=8,
        vet_reasons=("A bird that a cat had in its mouth needs antibiotics the same day.",),
        timetable=(),
        portion="",
    )
    thistle = bird(
        8,
        "Thistle",
        species="House sparrow",
        site="Harbour Street 4",
        stage="Fledgling",
        weaning=WeaningPhase.WEANED,
        decision=Decision.SELF_FEEDING,
        last_weighed_at=at(9, days=-6),
        timetable=(),
        portion="",
    )
    alerts = (
        alert(101, quill, acknowledged_at=at(20, 10, days=-1), acknowledged_by="Ines Carvalho"),
        alert(
            102,
            reed,
            code="weight_loss",
            severity=Severity.URGENT,
            since=at(6, 30, days=-1),
            opened_at=at(6, 35),
            text="Lost 6.2% since 20.8 g the day before, while it should gain.",
            actions=("Weigh again on the same scale, crop empty.", "Ring a vet who knows birds."),
        ),
        alert(
            103,
            ash,
            code="age_doubtful",
            severity=Severity.NOTE,
            opened_at=at(8, days=-3),
            since=at(8, days=-3),
            text="It grows like a bird 2.5 days older than told.",
            actions=("Check the hatching date, or estimate the age from what it shows.",),
        ),
    )
    return {
        "birds": (quill, reed, sedge, marigold, ash, button, fern, thistle),
        "alerts": alerts,
        "drawn": (drawn(quill, 25.9, 26.1, 26.0), drawn(reed, 18.2, 20.8, 19.5), drawn(ash, 188, 205, 221)),
        "outcomes": (
            Outcome(
                bird_id=number(9),
                bird="Clover",
                species="Swallow",
                site="Long Meadow centre",
                kind="released",
                at=at(11, days=-1),
            ),
            Outcome(
                bird_id=number(10),
                bird="Moss",
                species="Feral pigeon",
                site="Harbour Street 4",
                kind="died",
                at=at(2, 20),
                causes=("aspiration", "weak_on_arrival"),
            ),
        ),
    }
