"""Which clips the table shows, and in which order."""

from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QObject, QPersistentModelIndex, QSortFilterProxyModel

from app.model.document.verdict import Verdict
from app.model.faults_seen import seen_faults
from app.model.on_song import Clip
from app.window.clips.clips_model import SORT, ClipsModel

Index = QModelIndex | QPersistentModelIndex


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a clip must have to be shown; the default lets every clip through."""

    text: str = ""
    """Words, each of which must stand somewhere in the row."""
    verdict: Verdict | None = None
    angle_id: str | None = None
    proposed: str | None = None
    """A kind of faults of which one must be proposed, by the check's word; empty: any kind."""

    @property
    def everything(self) -> bool:
        """Whether nothing is left out."""
        return not self.text.strip() and (self.verdict, self.angle_id, self.proposed) == (None, None, None)

    def wants(self, clip: Clip, row_text: str) -> bool:
        """Whether a clip is shown; ``row_text`` is what can be read in its row.

        >>> clip = Clip("clip-1", None, "angle-1", verdict=Verdict.DOUBTFUL)
        >>> Wanted("0012 fiddle").wants(clip, "Fiddle C0012.MP4"), Wanted("flute").wants(clip, "Fiddle")
        (True, False)
        >>> Wanted(verdict=Verdict.PLACED).wants(clip, "")
        False
        """
        if self.verdict is not None and clip.verdict is not self.verdict:
            return False
        if self.angle_id is not None and clip.angle_id != self.angle_id:
            return False
        if self.proposed is not None:
            kinds = {mark.by for mark in seen_faults(clip.marks)}
            if not (self.proposed in kinds if self.proposed else kinds):
                return False
        text = row_text.casefold()
        return all(word in text for word in self.text.casefold().split())


class ClipsProxyModel(QSortFilterProxyModel):
    """Sorts by any column and leaves out what is not wanted."""

    def __init__(self, model: ClipsModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._wanted = Wanted()
        self.setSourceModel(model)
        self.setSortRole(SORT)

    def show_wanted(self, wanted: Wanted) -> None:
        """Leave out every clip that is not wanted."""
        if wanted != self._wanted:
            self._wanted = wanted
            self.invalidate()

    def filterAcceptsRow(self, row: int, parent: Index) -> bool:
        if self._wanted.everything:
            return True
        return self._wanted.wants(self._model.clip(row), self._model.row_text(row))
