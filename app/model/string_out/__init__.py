"""What a string-out shows: which stretches of which takes, in which order."""
