"""Finds a species by what people call it: any language, any case, without accents, with slips."""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from functools import lru_cache

from rapidfuzz import fuzz

# Whole names come before beginnings, beginnings before parts, all of them before names that merely resemble.
_WHOLE, _BEGINNING, _WORD_BEGINNING, _PART = 100.0, 95.0, 90.0, 86.0
_LIKENESS = 85.0
#: Below it a likeness is chance: two slips in a word of eight letters are above it, another word is not.
LEAST_LIKENESS = 0.74
_SHORTEST_PART = 3

_SPECIAL = str.maketrans({"ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "’": "'", "ı": "i"})


@lru_cache(maxsize=20_000)
def plain(text: str) -> str:
    """Lower case, no accents, single spaces; hyphens and underscores count as spaces."""
    decomposed = unicodedata.normalize("NFKD", text.casefold().translate(_SPECIAL))
    letters = "".join(character for character in decomposed if not unicodedata.combining(character))
    return re.sub(r"[\s_\-]+", " ", letters.replace("'", "")).strip()


def match_score(query: str, names: Iterable[str]) -> float:
    """How well the best of a species' names fits a query: 0 for not at all, 100 for the whole name.

    Parameters
    ----------
    query, names
        Made plain by :func:`plain`.
    """
    return max((_score(query, name) for name in names), default=0.0)


def _score(query: str, name: str) -> float:
    if query == name:
        return _WHOLE
    if name.startswith(query):
        return _BEGINNING
    if f" {query}" in f" {name}":
        return _WORD_BEGINNING
    if len(query) >= _SHORTEST_PART and query in name:
        return _PART
    likeness = max(fuzz.ratio(query, name) / 100, _words_likeness(query.split(), name.split()))
    return _LIKENESS * likeness if likeness >= LEAST_LIKENESS else 0.0


def _words_likeness(asked: Sequence[str], there: Sequence[str]) -> float:
    """Each word of the query against the most similar word of the name; every one has to find its like."""
    if not asked or not there:
        return 0.0
    best = [max(_word_likeness(word, other) for other in there) for word in asked]
    return sum(best) / len(best) if min(best) >= LEAST_LIKENESS - 0.1 else 0.0


def _word_likeness(word: str, other: str) -> float:
    return fuzz.ratio(word, other) / 100 if len(word) >= _SHORTEST_PART else float(word == other)
