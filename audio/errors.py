"""Errors of files and signals; each has a sentence for the person who uses the clip."""


class AudioError(Exception):
    """Base of all errors of this package; ``str(error)`` is a sentence that says what and what to do."""

    def __init__(self, sentence: str, *, for_song: str = "") -> None:
        """``for_song``: the sentence where the file was to be the song, if another one helps there."""
        super().__init__(sentence)
        self.for_song = for_song


class Unreadable(AudioError):
    """The file cannot be read: empty, cut off, not media, no permission, still being copied."""


class NoSound(AudioError):
    """The file can be read but carries no usable sound."""


class BadSignal(AudioError):
    """An array is empty, silent, not finite or of the wrong shape."""


class Stopped(AudioError):
    """The caller's ``stop()`` returned True; nothing is wrong."""


class CannotStamp(AudioError):
    """The file cannot be given a start timecode by changing its headers alone."""
