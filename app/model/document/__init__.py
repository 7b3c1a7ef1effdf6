"""The shoot: its values, and how they are kept in a file."""
