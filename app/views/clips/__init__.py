"""The place Clips."""
