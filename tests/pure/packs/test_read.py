"""Reading a folder: every fault listed, hostile files refused, nothing raised."""

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from species.packs.check import check_pack
from species.packs.files import LARGEST_FILE_BYTES
from species.packs.findings import Grade
from species.packs.read import read_pack


def faults(folder) -> set[tuple[str, str, str]]:
    checked = check_pack(folder)
    assert checked.pack is None
    return {(f.file, f.pointer, f.rule) for f in checked.findings if f.grade is Grade.ERROR}


def test_a_good_pack_has_no_findings(packs):
    checked = check_pack(packs / "good")
    assert checked.findings == ()
    assert {profile.key for profile in checked.pack.profiles} == {
        "fictus-psittacinus",
        "fictus-muscivorus",
        "natans-inventus-domesticus",
    }


def test_every_fault_of_form_is_listed_with_its_place(packs):
    file = "inventiformes/fictus-psittacinus.toml"
    assert faults(packs / "bad-unit") == {
        (file, "/family", "shape"),
        (file, "/masses/adult_low_g/value", "shape"),
        (file, "/stages/0/interval_h", "shape"),
        (file, "/stop_when", "shape"),
    }


def test_a_wrong_unit_names_the_right_field(packs):
    message = next(f.message for f in read_pack(packs / "bad-unit").findings if "interval_h" in f.pointer)
    assert "interval_min" in message
    assert "unit" in message


def test_a_misspelt_field_names_the_near_one(pack_copy):
    file = pack_copy / "inventiformes" / "fictus-muscivorus.toml"
    file.write_text(file.read_text().replace("food_guild", "food_gild"))
    messages = [f.message for f in read_pack(pack_copy).findings if f.pointer == "/food_gild"]
    assert messages == ["there is no field food_gild. Did you mean food_guild?"]


def test_another_contract_is_read_no_further_than_its_header(packs):
    assert faults(packs / "wrong-contract") == {("pack.toml", "/contract", "contract")}


def test_one_species_in_two_files(packs):
    assert ("inventiformes/fictus-muscivorus.toml", "/key", "keys_are_unique") in faults(packs / "duplicate-key")


def test_text_that_is_not_utf_8_is_told_with_its_line(packs):
    (finding,) = read_pack(packs / "not-utf-8").findings
    assert finding.file == "SOURCES.toml"
    assert "Line 3" in finding.message


def test_nesting_without_end_is_refused(packs):
    assert faults(packs / "nested-bomb") == {
        ("foods.toml", "", "readable"),
        ("formulas.toml", "", "readable"),
    }


def test_a_huge_file_is_refused(pack_copy):
    (pack_copy / "foods.toml").write_bytes(b"#" * (LARGEST_FILE_BYTES + 1))
    assert ("foods.toml", "", "readable") in faults(pack_copy)


@pytest.mark.parametrize("linked", ["file", "folder"])
def test_a_link_out_of_the_folder_is_never_followed(pack_copy, tmp_path, linked):
    secret = tmp_path / "elsewhere"
    secret.mkdir()
    (secret / "secret.toml").write_text('token = "do not show"\n')
    if linked == "file":
        (pack_copy / "inventiformes" / "secret.toml").symlink_to(secret / "secret.toml")
        assert ("inventiformes/secret.toml", "", "readable") in faults(pack_copy)
    else:
        (pack_copy / "secrets").symlink_to(secret)
        assert check_pack(pack_copy).findings == ()
    assert "do not show" not in str(check_pack(pack_copy).findings)


def test_a_pipe_is_not_waited_for(pack_copy):
    os.mkfifo(pack_copy / "inventiformes" / "pipe.toml")
    assert ("inventiformes/pipe.toml", "", "readable") in faults(pack_copy)


@pytest.mark.parametrize("number", ["nan", "inf", "-inf", "1e300", "9" * 5000, "9" * 400])
def test_a_number_that_is_none_is_refused(pack_copy, number):
    file = pack_copy / "inventiformes" / "fictus-muscivorus.toml"
    file.write_text(file.read_text().replace("value = 20,", f"value = {number},"))
    assert ("inventiformes/fictus-muscivorus.toml", "", "readable") in faults(pack_copy)


@pytest.mark.parametrize("value", ["true", '"20"', "2026-11-25", "[20]", "{ a = 1 }"])
def test_a_value_of_another_type_is_refused(pack_copy, value):
    file = pack_copy / "inventiformes" / "fictus-muscivorus.toml"
    file.write_text(file.read_text().replace("value = 20,", f"value = {value},"))
    assert ("inventiformes/fictus-muscivorus.toml", "/masses/adult_g/value", "shape") in faults(pack_copy)


def test_a_profile_in_the_wrong_place_is_told_where_to_go(pack_copy):
    profile = pack_copy / "inventiformes" / "fictus-muscivorus.toml"
    profile.rename(pack_copy / "fictus-muscivorus.toml")
    assert ("fictus-muscivorus.toml", "", "place") in faults(pack_copy)
    deep = pack_copy / "inventiformes" / "deep"
    deep.mkdir()
    (pack_copy / "fictus-muscivorus.toml").rename(deep / "fictus-muscivorus.toml")
    assert ("inventiformes/deep/fictus-muscivorus.toml", "", "place") in faults(pack_copy)


def test_a_folder_that_is_none(tmp_path):
    assert faults(tmp_path / "nowhere") == {("pack.toml", "", "readable")}
    assert faults(tmp_path) == {("pack.toml", "", "readable")}


@settings(max_examples=60, deadline=None)
@given(text=st.one_of(st.binary(max_size=200), st.text(max_size=200).map(lambda text: text.encode())))
def test_no_bytes_crash_the_reader(tmp_path_factory, text):
    folder: Path = tmp_path_factory.mktemp("bytes")
    (folder / "pack.toml").write_bytes(text)
    assert check_pack(folder).pack is None
