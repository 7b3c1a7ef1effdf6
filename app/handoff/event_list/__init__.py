"""Event lists in the manner of SMPTE ST 258."""
