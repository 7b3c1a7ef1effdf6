"""What must be seen where, what is meant to be shot for it, and what is still missing."""
