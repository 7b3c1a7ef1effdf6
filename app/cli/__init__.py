"""The headless commands."""
