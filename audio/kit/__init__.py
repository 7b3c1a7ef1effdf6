"""What is played on set: playback files made from the song, and linear timecode, written and read."""
