"""Shapes of birds and their records."""

from .birds import BirdChangeIn, BirdIn, BirdOut, BirdParameters, MoveIn, OutcomeIn
from .records import (
    CropCheckRecordChangeIn,
    CropCheckRecordIn,
    CropCheckRecordOut,
    FeedRecordChangeIn,
    FeedRecordIn,
    FeedRecordOut,
    MilestoneRecordChangeIn,
    MilestoneRecordIn,
    MilestoneRecordOut,
    RecordParameters,
    WeighingRecordChangeIn,
    WeighingRecordIn,
    WeighingRecordOut,
)

__all__ = [
    "BirdChangeIn",
    "BirdIn",
    "BirdOut",
    "BirdParameters",
    "CropCheckRecordChangeIn",
    "CropCheckRecordIn",
    "CropCheckRecordOut",
    "FeedRecordChangeIn",
    "FeedRecordIn",
    "FeedRecordOut",
    "MilestoneRecordChangeIn",
    "MilestoneRecordIn",
    "MilestoneRecordOut",
    "MoveIn",
    "OutcomeIn",
    "RecordParameters",
    "WeighingRecordChangeIn",
    "WeighingRecordIn",
    "WeighingRecordOut",
]
