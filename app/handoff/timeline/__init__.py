"""Timelines and bundles by OpenTimelineIO."""
