"""The shoot document: frozen values and pure functions. No window, no sound."""
