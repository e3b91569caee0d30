"""Packs: species knowledge as data files. Read, checked, compared and discovered here; no Django.

The format is described in docs/packs/format.md and, for programs, in ``pack-schema.json``.
"""
