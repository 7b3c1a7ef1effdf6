"""What pictures of clips tell: arrays and files in, numbers out."""
