"""The song's map: beats, bars, sections."""
