"""The proof film."""
