"""The playback kit: which files are made to be played on set, and exactly how each runs through the song."""
