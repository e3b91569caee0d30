"""The committed schema is the one that the domain's records give, and is valid JSON Schema."""

from importlib.resources import files

import jsonschema
import msgspec
import pytest

from species.domain.profile import Profile
from species.packs.schema import build_schema, schema_text, shape_faults


def test_the_committed_schema_is_generated():
    committed = (files("species.packs") / "pack-schema.json").read_text("utf-8")
    assert committed == schema_text(), "run: python -m species.packs.schema"


def test_it_is_a_json_schema():
    jsonschema.Draft202012Validator.check_schema(build_schema())


def test_no_shape_allows_null():
    # TOML 1.0 has no null: https://toml.io/en/v1.0.0#spec
    assert '"null"' not in schema_text()


def test_what_the_schema_accepts_the_decoder_accepts(good_reading):
    for profile in good_reading.profiles.values():
        document = msgspec.to_builtins(profile)
        assert msgspec.convert(document, Profile) == profile


def test_a_species_without_a_name_in_words_is_no_profile(good_reading):
    # The first name is told in every answer: without one there is nothing to tell.
    assert ("/vernacular_names", "[] must be a list of a length of at least 1.") in [
        *shape_faults({"vernacular_names": []}, Profile)
    ]
    nameless = msgspec.to_builtins(next(iter(good_reading.profiles.values()))) | {"vernacular_names": []}
    with pytest.raises(msgspec.ValidationError, match="length >= 1"):
        msgspec.convert(nameless, Profile)


def test_each_missing_field_is_told_alone():
    missing = [pointer for pointer, _ in shape_faults({}, Profile)]
    assert set(missing) == {f"/{field.name}" for field in msgspec.structs.fields(Profile) if field.required}
    assert len(missing) == len(set(missing))
