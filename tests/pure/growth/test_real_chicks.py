"""Real chicks of the reference data: every one goes through; the drill prints what some of them got."""

import csv
from collections import Counter, defaultdict

import numpy as np
import pytest

from api.growth.rules.assessment import Status, assess
from tests.pure.growth.birds import COMMON_TERN, SONG_SPARROW, TREE_SWALLOW, ZEBRA_FINCH, asked
from tests.reference_data import needs_reference

SETS = {
    "chick_common_tern.csv": COMMON_TERN,
    "chick_tree_swallow_2017.csv": TREE_SWALLOW,
    "chick_song_sparrow.csv": SONG_SPARROW,
    "chick_zebra_finch_diet.csv": ZEBRA_FINCH,
}


def chicks(name):
    """Rows of each chick with an age and a mass, in order of age."""
    with needs_reference("data", name).open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["age_d"] and row["mass_g"] and float(row["mass_g"]) > 0]
    by_chick = defaultdict(list)
    for row in rows:
        by_chick[row["chick_id"]].append(row)
    return {key: sorted(found, key=lambda row: float(row["age_d"])) for key, found in by_chick.items()}


def series_of(rows):
    return [(float(row["age_d"]), float(row["mass_g"])) for row in rows]


@pytest.mark.parametrize(("name", "species"), SETS.items(), ids=list(SETS))
def test_every_chick_goes_through(name, species):
    found = [assess(species, asked(series_of(rows))) for rows in chicks(name).values()]
    assert found
    assert all(a.curve.settled for a in found)
    assert all(np.isfinite([p.expected_g for p in a.points]).all() for a in found)
    # Real weights are not slips: few of them may be questioned.
    points = [point for a in found for point in a.points]
    assert sum(point.state == "questioned" for point in points) < 0.02 * len(points)


@pytest.mark.drill
def test_what_fledged_and_dead_tree_swallows_got():
    rows = chicks("chick_tree_swallow_2017.csv")
    fledged = [key for key, found in rows.items() if found[0]["fledged"] == "1.0" and len(found) >= 3][:3]
    dead = [key for key, found in rows.items() if "NESTLINGS DIED" in found[0]["why_failed"] and len(found) >= 3][:3]
    print("\n\n| chick | fate | weighings (day: g) | status | findings | last z by its own record |")
    print("| --- | --- | --- | --- | --- | --- |")
    for fate, keys in (("fledged", fledged), ("died", dead)):
        for key in keys:
            series = series_of(rows[key])
            got = assess(TREE_SWALLOW, asked(series))
            weights = ", ".join(f"{day:g}: {mass_g:g}" for day, mass_g in series)
            codes = ", ".join(f"`{finding.code}`" for finding in got.findings) or "none"
            print(f"| {key} | {fate} | {weights} | `{got.status}` | {codes} | {got.points[-1].conditional_z} |")


@pytest.mark.drill
def test_what_all_fledged_and_dead_tree_swallows_got():
    found = {"fledged": Counter(), "died": Counter()}
    for rows in chicks("chick_tree_swallow_2017.csv").values():
        died = "NESTLINGS DIED" in rows[0]["why_failed"]
        if len(rows) >= 3 and (died or rows[0]["fledged"] == "1.0"):
            found["died" if died else "fledged"][assess(TREE_SWALLOW, asked(series_of(rows))).status] += 1
    print(f"\n\n| fate | chicks | {' | '.join(f'`{status.value}`' for status in Status)} |")
    print("| --- | --- " + "| --- " * len(Status) + "|")
    for fate, statuses in found.items():
        print(f"| {fate} | {statuses.total()} | {' | '.join(str(statuses[status]) for status in Status)} |")
