"""The place Song."""
