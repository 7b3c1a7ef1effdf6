"""Playing: what is heard and watched beside every place."""
