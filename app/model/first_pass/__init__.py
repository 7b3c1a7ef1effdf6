"""The first pass: one picture track over the whole song, cut by rules, with a reason for every shot."""
