"""The window: one widget per file."""
