"""Files of the shoot, by place and by content."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MediaRef:
    """A file by place and by content, so that it can be found again after a move."""

    path: str
    """Absolute while in memory; the store writes it relative to the shoot file where possible."""
    size_bytes: int
    digest: str
    """Fingerprint of size and sampled content; see identity.py."""

    def same_content(self, other: "MediaRef") -> bool:
        """Whether both are the same file, wherever they lie."""
        return (self.size_bytes, self.digest) == (other.size_bytes, other.digest)
