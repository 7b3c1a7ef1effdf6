"""What of the shoot the score shows: all of it, or only some by a filter."""

from dataclasses import dataclass

from app.model.document.decisions import Decision
from app.model.on_song import Take


@dataclass(frozen=True, slots=True)
class Shown:
    """What is left out of the score. Figures and words in the margin tell of everything all the same."""

    silent: bool = True
    """Rows that have nothing on a line are shown too."""
    needs: bool = True
    """Rows of the subjects that the plan asks for stand above the staves."""
    first_pass: bool = False
    """A row of the shots of the first pass stands above the staves."""
    usable: bool = False
    """Only what can be used of each take: no faults."""
    confirmed: bool = False
    """Only takes that a person confirmed or placed."""
    subject: str = ""
    """Only angles that show this subject; empty for all."""

    @property
    def filtered(self) -> bool:
        """Whether takes or angles are left out."""
        return self.usable or self.confirmed or bool(self.subject)

    @property
    def words(self) -> str:
        """What is shown, in a few words.

        >>> Shown(usable=True, subject="fiddle").words
        'usable parts only · fiddle only'
        """
        parts = [
            *(["usable parts only"] if self.usable else []),
            *(["confirmed takes only"] if self.confirmed else []),
            *([f"{self.subject} only"] if self.subject else []),
        ]
        return " · ".join(parts)

    def lets(self, take: Take) -> bool:
        """Whether a take is shown, or some of it."""
        return not self.confirmed or take.decision is not Decision.COMPUTED
