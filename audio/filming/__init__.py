"""The proof film: tiles, lettering, and the film read back."""
