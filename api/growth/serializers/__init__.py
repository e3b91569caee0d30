"""Shapes of the room's requests and answers."""
