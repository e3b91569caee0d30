"""What can be true of powders and kitchens."""
