"""Clips that run at another speed than the song's."""
