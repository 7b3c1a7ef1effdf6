"""The place Hand-off."""
