"""Sequences: timelines with one picture track made of pieces of takes, which are string-outs and first passes."""
