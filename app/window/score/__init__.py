"""The place Score."""
