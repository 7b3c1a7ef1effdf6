"""The two callbacks every long function takes, for callers who want neither."""


def never() -> bool:
    """Never ask to stop."""
    return False


def no_progress(fraction: float) -> None:
    """Ignore progress; ``fraction`` runs from 0 to 1."""
