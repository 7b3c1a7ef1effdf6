"""How the sample shoot is made: a band that never was, its song, its loft, its cameras."""
