"""Where in the song a clip runs at the song's own speed, and how sure that is."""
