"""The window around the places, and what belongs to all of it."""
