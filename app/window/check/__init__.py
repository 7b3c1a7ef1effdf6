"""The place Check."""
