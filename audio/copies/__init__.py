"""Copies of clips and sound as the hand-off writes them."""
