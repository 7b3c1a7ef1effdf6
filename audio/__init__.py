"""Arrays and files in, numbers out: reading media, placing clips on a song, mapping the song.

Nothing in here knows of a window or of the shoot document; every function can be used from a script.
"""
