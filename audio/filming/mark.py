"""How a proof film is known again."""

MARK = "Anglebook proof film"
"""Comment in the file."""
