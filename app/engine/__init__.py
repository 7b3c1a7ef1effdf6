"""What is asked of the engine: files and values in, frozen values out; no Qt."""
