"""Replacing the song by its next master: what became of what, corrected where need be, and carried over."""
