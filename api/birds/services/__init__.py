"""Writes of birds and their records, one transaction each."""

from .birds import bird_admit, bird_change, bird_move, bird_remove, guard_formula, guard_site, sites_hold
from .feeds import feed_change, feed_record, feed_remove
from .holding import birds_hold
from .observations import (
    crop_check_change,
    crop_check_record,
    crop_check_remove,
    milestone_change,
    milestone_record,
    milestone_remove,
)
from .outcomes import outcome_record, outcome_withdraw
from .weighings import weighing_change, weighing_question, weighing_record, weighing_remove

__all__ = [
    "bird_admit",
    "bird_change",
    "bird_move",
    "bird_remove",
    "birds_hold",
    "crop_check_change",
    "crop_check_record",
    "crop_check_remove",
    "feed_change",
    "feed_record",
    "feed_remove",
    "guard_formula",
    "guard_site",
    "milestone_change",
    "milestone_record",
    "milestone_remove",
    "outcome_record",
    "outcome_withdraw",
    "sites_hold",
    "weighing_change",
    "weighing_question",
    "weighing_record",
    "weighing_remove",
]
