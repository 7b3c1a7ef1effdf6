"""Makes proxies one after the other in the background, those wanted on screen first."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.engine.watching import Proxies, needs_proxy
from app.model.on_song import Clip
from app.window.jobs import Jobs, Ticket, is_plain, sentence

SLOT = "proxies"


class ProxyMaker(QObject):
    """Tells what to watch of a clip now, and sees to it that it can be watched better later."""

    changed = Signal()
    """One is finished, or it is known better how far it is."""

    def __init__(self, jobs: Jobs, proxies: Proxies | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._jobs = jobs
        self._proxies = proxies or Proxies()
        self._found: dict[str, Path | None] = {}
        self._failed: set[str] = set()
        self._wanted: list[Clip] = []
        self._making: Clip | None = None
        self._share = 0.0
        self.trouble = ""
        """A sentence about one that could not be made, or nothing."""

    def path_of(self, clip: Clip) -> Path:
        """What is opened to watch a clip: its proxy where there is one, else the clip itself."""
        if not needs_proxy(clip):
            return Path(clip.media.path)
        if clip.media.digest not in self._found:
            self._found[clip.media.digest] = self._proxies.find(clip.media)
        return self._found[clip.media.digest] or Path(clip.media.path)

    def want(self, clips: Sequence[Clip]) -> None:
        """Make what is missing for these clips, in this order; what is being made goes on."""
        self._wanted = [
            clip
            for clip in clips
            if needs_proxy(clip)
            and clip.media.digest not in self._failed
            and self.path_of(clip) == Path(clip.media.path)
        ]
        self._go_on()

    def rest(self) -> None:
        """Make no more; what is half made is given up."""
        self._wanted = []
        self._making = None
        self._jobs.abandon(SLOT)

    @property
    def words(self) -> str:
        """How far it is: ``Making a proxy for smooth playback: C0012.MP4, 34%, 3 more``, or nothing."""
        if self._making is None:
            return self.trouble
        name = Path(self._making.media.path).name
        more = sum(clip.media.digest != self._making.media.digest for clip in self._wanted)
        tail = f", {more} more" if more else ""
        return f"Making a proxy for smooth playback: {name}, {self._share:.0%}{tail}"

    def _go_on(self) -> None:
        if self._jobs.busy(SLOT) or not self._wanted:
            return
        clip = self._making = self._wanted.pop(0)
        self._share = 0.0
        proxies = self._proxies

        def work(ticket: Ticket) -> Path:
            return proxies.make(clip, stop=ticket.stop, progress=ticket.progress)

        def done(path: Path) -> None:
            self._found[clip.media.digest] = path
            self._ended()

        def failed(error: Exception) -> None:
            self._failed.add(clip.media.digest)
            name = Path(clip.media.path).name
            told = sentence(error) if is_plain(error) else "no proxy could be made."
            self.trouble = f"{name} plays from the original file, which may stutter: {told}"
            self._ended()

        self._jobs.start(SLOT, work, done, failed, progress=self._tell)

    def _tell(self, share: float, _: str) -> None:
        self._share = share
        self.changed.emit()

    def _ended(self) -> None:
        self._making = None
        self._go_on()
        self.changed.emit()
