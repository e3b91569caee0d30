"""Reads of the room: what the rules need is fetched here, then they compute."""
