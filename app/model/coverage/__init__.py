"""Who shows which bar."""
