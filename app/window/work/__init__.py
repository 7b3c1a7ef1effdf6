"""What the window has the engine do: jobs that are told and can be stopped, and what comes of them."""
