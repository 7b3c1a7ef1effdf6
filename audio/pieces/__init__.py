"""How one recording of a song runs through another: playback files, and masters that follow each other."""
