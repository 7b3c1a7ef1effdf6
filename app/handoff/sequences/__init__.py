"""Sequences: string-outs and first passes, pieces of takes one after another on one picture track."""
