"""Puts this folder where the tests below it find ``random_shoots``."""
