"""Tables of takes, sections and bars, and the report."""
