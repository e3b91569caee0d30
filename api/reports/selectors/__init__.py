"""Reads: reports that are written, those that are due, and what one is composed from."""
