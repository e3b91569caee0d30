"""The second reading of the profiles: one sheet for each group of birds, ``<group>.csv`` beside this file.

Whoever read had not seen the profile. What was read is never edited; differences are resolved beside it.

``day`` picks the stage of that day. ``low`` = ``high`` is one number, words stand in ``low``, all blank says that
nothing printed was found. ``resolution`` is ``agreed``, ``profile_changed`` (the profile was wrong; ``why`` tells),
``reader_wrong`` or ``both_kept`` (the sources differ; the profile's note has the other).
"""

import csv
import math
import tomllib
from pathlib import Path

from tests.species.builtin_files import BUILTIN

FOLDER = Path(__file__).parent
FIELDS = ("profile", "field", "day", "low", "usual", "high", "locator", "resolution", "why")
RESOLUTIONS = {"agreed", "profile_changed", "reader_wrong", "both_kept"}
THREE_DIGITS = 0.005


def rooms():
    return sorted(path.stem for path in FOLDER.glob("*.csv"))


def rows_of(room):
    with (FOLDER / f"{room}.csv").open(newline="", encoding="utf-8") as lines:
        return [{name: (row.get(name) or "").strip() for name in FIELDS} for row in csv.DictReader(lines)]


def profile_of(key):
    found = list(BUILTIN.glob(f"*/{key}.toml"))
    return tomllib.loads(found[0].read_text("utf-8")) if found else None


def value_at(profile, field, day):
    """The profile's value for a field of the sheet, or None."""
    if field.startswith("milestone:"):
        seen = [entry["seen_days"] for entry in profile.get("milestones", ()) if entry["key"] == field.split(":")[1]]
        return seen[0] if seen else None
    if day:
        for stage in profile["stages"]:
            if stage["ages"]["from_day"] <= float(day) < stage["ages"].get("to_day", math.inf):
                return stage.get(field)
        return None
    value = profile
    for name in field.split("."):
        value = value.get(name) if isinstance(value, dict) else None
    return value


def numbers_of(value):
    if "value" in value:
        return value["value"], value["value"]
    return value["low"], value["high"]


def difference(row, profile):
    """What the sheet's row and the profile disagree in, in words; None where they agree."""
    value = value_at(profile, row["field"], row["day"])
    if not row["low"]:
        if value is None or (isinstance(value, dict) and value.get("reach") == "inferred"):
            return None
        return f"read: nothing printed; profile: {_told(value)}"
    if value is None:
        return f"read: {row['low']}..{row['high']}; profile: nothing"
    if not isinstance(value, dict) or isinstance(value.get("value"), bool):
        word = value["value"] if isinstance(value, dict) else value
        return None if str(word).lower() == row["low"].lower() else f"read: {row['low']}; profile: {word}"
    read = (float(row["low"]), float(row["high"] or row["low"]))
    if all(
        math.isclose(a, b, rel_tol=THREE_DIGITS, abs_tol=1e-9) for a, b in zip(read, numbers_of(value), strict=True)
    ):
        return None
    return f"read: {read[0]:g}..{read[1]:g}; profile: {_told(value)}"


def _told(value):
    if not isinstance(value, dict):
        return str(value)
    low, high = numbers_of(value)
    origin = "; ".join(value.get("sources", ())) or value.get("equation", "")
    return f"{low}..{high} [{value['reach']}: {origin}]"
