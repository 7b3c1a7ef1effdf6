"""Clips of one shoot held against each other."""
