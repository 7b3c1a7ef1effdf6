"""What the pictures of a clip tell: the same set-up, faults, how far apart two takes sit, where it runs."""
