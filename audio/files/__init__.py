"""Media files: what is in them, their clocks, their sound and frames."""
