"""Columns that hold one word of a closed list."""

from enum import StrEnum
from typing import Any

from django.db import models


def word_field(words: type[StrEnum], **options: Any) -> models.CharField:
    """A column for one of the words; longer lists later need no wider column."""
    return models.CharField(max_length=32, choices=[(word.value, word.value) for word in words], **options)


def known_words(name: str, **columns: type[StrEnum]) -> list[models.CheckConstraint]:
    """Constraints that hold the columns to their words, in the database too."""
    return [
        models.CheckConstraint(
            condition=models.Q(**{f"{column}__in": [word.value for word in words]}), name=f"{name}_{column}_known"
        )
        for column, words in columns.items()
    ]
