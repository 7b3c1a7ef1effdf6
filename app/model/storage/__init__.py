"""Files written whole, files that have stopped growing, and answers kept on disk."""
