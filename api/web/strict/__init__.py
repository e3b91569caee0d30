"""Input read without goodwill: strict JSON, strict fields, strict query parameters."""

from .alternatives import OneOf
from .fields import (
    StrictBooleanField,
    StrictCharField,
    StrictChoiceField,
    StrictDecimalField,
    StrictFloatField,
    StrictIntegerField,
    StrictListField,
    StrictUuidField,
)
from .parser import StrictJSONParser
from .serializers import QueryParameters, StrictSerializer
from .times import StrictDateField, StrictDateTimeField, StrictTimeField, TimeZoneField

__all__ = [
    "OneOf",
    "QueryParameters",
    "StrictBooleanField",
    "StrictCharField",
    "StrictChoiceField",
    "StrictDateField",
    "StrictDateTimeField",
    "StrictDecimalField",
    "StrictFloatField",
    "StrictIntegerField",
    "StrictJSONParser",
    "StrictListField",
    "StrictSerializer",
    "StrictTimeField",
    "StrictUuidField",
    "TimeZoneField",
]
