"""Views of birds and their records."""
