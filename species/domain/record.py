"""The base of every frozen record: closed to unknown fields, comparable, with a JSON Schema of its own."""

import msgspec


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A frozen set of named values. One definition gives the type, the decoder and the schema."""
