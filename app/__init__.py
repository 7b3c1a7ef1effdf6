"""Anglebook: the shoot document, the commands and the window."""
