"""One file per format that can be handed off; `app.handoff.registry` lists them."""
