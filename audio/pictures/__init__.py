<<<<<<< HEAD
"""What pictures of clips tell: arrays and files in, numbers out."""
=======
"""What the pictures of a clip tell: the same set-up, faults, how far apart two takes sit."""
>>>>>>> 8a92209
