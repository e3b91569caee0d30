"""The four kinds of records of a bird, as an app sends them."""

from dataclasses import dataclass
from typing import Any

from api.birds.models import CropCheck, Feed, Milestone, Weighing


@dataclass(frozen=True)
class Kind:
    """A kind of record: where it is, what it says, what stands where nothing is told, and a correction."""

    path: str
    model: type[Any]
    least: dict[str, Any]
    whole: dict[str, Any]
    untold: dict[str, Any]
    correction: dict[str, Any]
    instant: str = "at"

    @property
    def address(self) -> str:
        return f"/api/v1/{self.path}"

    def __str__(self) -> str:
        return self.path


KINDS = (
    Kind(
        "weighings",
        Weighing,
        {"at": "2027-05-02T04:50:00Z", "mass_g": 36.2},
        {
            "at": "2027-05-02T04:50:00Z",
            "mass_g": 36.125,
            "context": "before_first_feed",
            "scale_step_g": 0.1,
            "note": "Wriggled.\nTwice.",
        },
        {"context": "unknown", "scale_step_g": None, "note": "", "state": "accepted", "question": None},
        {"mass_g": 63.2},
    ),
    Kind(
        "feeds",
        Feed,
        {"at": "2027-05-02T04:50:00Z", "volume_ml": 2.5},
        {
            "at": "2027-05-02T03:00:00Z",
            "until": "2027-05-02T04:30:00Z",
            "count": 4,
            "purpose": "recovery",
            "food": "hand-feeding powder",
            "volume_ml": 2.25,
            "mass_g": 2.4,
            "dry_matter_fraction": 0.22,
            "temperature_c": 39.45,
            "method": "syringe",
            "response": "slow",
            "note": "Left crop.",
        },
        {
            "until": None,
            "count": 1,
            "purpose": "routine",
            "food": None,
            "mass_g": None,
            "dry_matter_fraction": None,
            "temperature_c": None,
            "method": None,
            "response": None,
            "note": "",
        },
        {"volume_ml": 2.0, "response": "refused"},
    ),
    Kind(
        "crop-checks",
        CropCheck,
        {"at": "2027-05-02T04:50:00Z", "crop": "residue"},
        {
            "at": "2027-05-02T04:50:00Z",
            "crop": "distended",
            "crop_content": "air",
            "crop_wall": "red",
            "last_feed_at": "2027-05-01T21:00:00Z",
            "note": "Sour?",
        },
        {"crop_content": None, "crop_wall": None, "last_feed_at": None, "note": ""},
        {"crop": "empty"},
    ),
    Kind(
        "milestones",
        Milestone,
        {"observed_at": "2027-05-02T04:50:00Z", "key": "eyes_open"},
        {
            "observed_at": "2027-05-02T04:50:00Z",
            "key": "pins_visible",
            "seen": False,
            "last_absent_at": "2027-05-01T05:00:00Z",
            "note": "Soon.",
        },
        {"seen": True, "last_absent_at": None, "note": ""},
        {"key": "eyes_slit"},
        instant="observed_at",
    ),
)
