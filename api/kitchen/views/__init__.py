"""Views of the kitchen: formulas, and the kitchen of a site."""
