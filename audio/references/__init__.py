"""One recording held against several references: songs, and files that were played on set."""
