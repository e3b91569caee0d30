"""Views of the room: find, validate, call one selector, answer."""
