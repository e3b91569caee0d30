"""Counting where values come from, and comparing two profiles."""

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from species.domain.sourcing import Reach
from species.packs.diff import document_diff
from species.packs.sourced import provenance_counts, sourced_values


def profile_of(reading, key):
    return next(profile for profile in reading.profiles.values() if profile.key == key)


def differences(before, after):
    return document_diff(msgspec.to_builtins(before), msgspec.to_builtins(after))


def test_counts_agree_with_a_count_of_the_text(packs, good_reading):
    """Each value says its reach once in its file, so that counting the words counts the values."""
    for file, profile in good_reading.profiles.items():
        text = (packs / "good" / file).read_text()
        expected = {reach: text.count(f'reach = "{reach}"') for reach in Reach}
        assert provenance_counts(profile) == expected


def test_pointers_lead_to_the_values(good_reading):
    profile = profile_of(good_reading, "fictus-psittacinus")
    document = msgspec.to_builtins(profile)
    for pointer, value in sourced_values(profile):
        place = document
        for step in pointer.split("/")[1:]:
            place = place[int(step)] if isinstance(place, tuple | list) else place[step]
        assert place == msgspec.to_builtins(value)


def test_nothing_differs_from_itself(good_reading):
    for profile in good_reading.profiles.values():
        assert differences(profile, profile) == ()


def test_a_changed_a_new_and_a_lost_value(good_reading, altered):
    before = profile_of(good_reading, "fictus-psittacinus")
    after = profile_of(
        altered(
            "fictus-psittacinus",
            {"stages/0/interval_min/low": 75.0, "stages/2/brooder_c": None, "fledging_days": None},
        ),
        "fictus-psittacinus",
    )
    changes = {change.pointer: (change.before, change.after) for change in differences(before, after)}
    assert changes["/stages/0/interval_min/low"] == (60.0, 75.0)
    lost, nothing = changes["/fledging_days"]
    assert (lost["usual"], nothing) == (33.0, None)
    assert set(changes) == {"/stages/0/interval_min/low", "/fledging_days"}


@given(grams=st.floats(80, 105), word=st.text(min_size=1, max_size=20))
def test_applying_the_changes_gives_the_new_profile(good_reading, grams, word):
    before = profile_of(good_reading, "fictus-psittacinus")
    masses = msgspec.structs.replace(
        before.masses, adult_g=msgspec.structs.replace(before.masses.adult_g, value=grams, note=word)
    )
    after = msgspec.structs.replace(before, masses=masses, synonyms=(word, "Fictus tertius"))
    document = msgspec.json.decode(msgspec.json.encode(before))
    for change in differences(before, after):
        *steps, last = change.pointer.split("/")[1:]
        place = document
        for step in steps:
            place = place[int(step)] if isinstance(place, list) else place[step]
        if isinstance(place, list):
            place[int(last) : int(last) + 1] = [change.after]
        else:
            place[last] = change.after
    assert msgspec.convert(document, type(before)) == after
