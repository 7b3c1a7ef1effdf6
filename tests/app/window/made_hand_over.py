"""A hand-off that writes nothing, for the tests of the window."""

import time
from collections.abc import Callable, Sequence
from pathlib import Path

from app.handoff.all import HandedOver, Preview
from app.handoff.choices import Choices
from app.handoff.each_song import Part
from app.handoff.outcome import HandoffReport, HandoffStopped, Planned


class MadeHandOver:
    """Plans one file for each thing chosen, and notes what it was asked."""

    def __init__(self) -> None:
        self.there: tuple[str, ...] = ()
        """What ``earlier`` answers."""
        self.troubles: tuple[str, ...] = ()
        self.left: tuple[str, ...] = ()
        """Names of what earlier hand-offs left."""
        self.error: Exception | None = None
        """Raised instead of writing."""
        self.waits = False
        """Whether writing goes on until it is stopped."""
        self.previewed: list[Choices] = []
        self.written: list[tuple[Path, Choices]] = []
        self.looked_into: list[Path] = []

    def preview(self, parts: Sequence[Part], choices: Choices) -> Preview:
        self.previewed.append(choices)
        planned = [
            Planned(f"{part.folder}/x.{what}".lstrip("/"), 1000, (f"about {what}",))
            for part in parts
            for what in sorted(choices.what)
        ]
        return Preview(tuple(planned), self.troubles)

    def earlier(self, folder: Path, planned: Sequence[Planned]) -> Sequence[str]:
        return self.there

    def leftovers(
        self, folder: Path, planned: Sequence[Planned], *, stop: Callable[[], bool]
    ) -> Sequence[str]:
        self.looked_into.append(folder)
        return self.left

    def write(
        self,
        parts: Sequence[Part],
        folder: Path,
        choices: Choices,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        doing: Callable[[str, str], None],
        wrote: Callable[[HandoffReport], None],
    ) -> HandedOver:
        self.written.append((folder, choices))
        planned = self.preview(parts, choices).planned
        reports = [
            HandoffReport(path=folder / one.name, lines=one.lines, takes=1, worst_sub_frame_offset_s=0.0)
            for one in planned
        ]
        doing(parts[0].song, min(choices.what))
        wrote(reports[0])
        progress(0.5)
        while self.waits:
            if stop():
                raise HandoffStopped("Stopped.")
            time.sleep(0.005)
        if self.error is not None:
            raise self.error
        for report in reports[1 : len(reports) - len(self.troubles)]:
            wrote(report)
        done = len(reports) - len(self.troubles)
        return HandedOver(tuple(reports), self.troubles, self.left, files=done, size_bytes=1000 * done)
