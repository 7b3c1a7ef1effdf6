"""Playback: the sound of the song and of takes, and frames in sync with it."""
