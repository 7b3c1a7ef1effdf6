"""Beats, bars and sections of the song, and how they are corrected."""
