"""Stamped copies and conformed sound."""
