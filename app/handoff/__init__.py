"""One room per format that leaves for the editing program; each is read back after writing."""
