"""What leaves for the editing program: the formats, how they are laid out, and how each is read back."""
