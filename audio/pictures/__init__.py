"""What the pictures of clips tell: arrays in, numbers out."""
