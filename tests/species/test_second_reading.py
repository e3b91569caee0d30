"""Two hands read every profile; what the second one read stands in tests/species/second_reading, resolved in writing.

The oracle is the second reader, who extracted the values from the same sources without seeing the profiles.
"""

import pytest

from tests.species.second_reading.sheets import RESOLUTIONS, difference, profile_of, rooms, rows_of


def test_every_profile_that_was_read_is_there():
    read = {row["profile"] for room in rooms() for row in rows_of(room)}
    assert {key for key in read if profile_of(key) is None} == set()


@pytest.mark.parametrize("room", rooms())
def test_every_difference_is_resolved(room):
    faults = []
    for number, row in enumerate(rows_of(room), start=2):
        where = f"line {number}, {row['profile']} {row['field']} {row['day']}"
        told = difference(row, profile_of(row["profile"]))
        if row["resolution"] not in RESOLUTIONS:
            faults.append(f"{where}: not resolved; {told}")
        elif row["resolution"] == "agreed" and told is not None:
            faults.append(f"{where}: said to agree; {told}")
        elif row["resolution"] != "agreed" and not row["why"]:
            faults.append(f"{where}: no reason is given")
    assert faults == []


def test_a_changed_figure_is_seen():
    profile = profile_of("passer-domesticus")
    row = {"profile": "passer-domesticus", "field": "masses.adult_g", "day": "", "low": "28.0", "high": "28.0"}
    assert difference(row, profile) is None
    assert "31" in difference({**row, "low": "31", "high": "31"}, profile)
    assert "nothing printed" in difference({**row, "low": "", "high": ""}, profile)
