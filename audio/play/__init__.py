"""What is heard and watched: the song and takes in step."""
