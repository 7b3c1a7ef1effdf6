"""The clips as rows of a table: what each file turned out to be, and why."""

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor

from app.model.clip_verdict import clip_word
from app.model.document.decisions import Decision
from app.model.document.song import SongMap
from app.model.document.verdict import GLYPHS, Verdict
from app.model.faults_seen import proposed_words, seen_faults
from app.model.on_song import Clip, SongView, Take
from app.model.reasons import sentence
from app.model.songs_of_clips import Standing
from app.window.parts import words
from app.window.parts.theme import Theme

ANGLE, PICTURES, FILE, VERDICT, TAKES, WHY, PROPOSED, NOTE, LENGTH, RATE = range(10)
HEADS = ("Angle", "Pictures", "File", "Verdict", "Takes", "Why", "Proposed", "Note", "Length", "Rate")
TIPS = (
    "What the camera shows; double-click or press F2 to change it",
    "Moments of the clip; W shows it larger",
    "The file; point at it to see its folder",
    "Placed, in doubt, no song, or unreadable",
    "Where each take starts in the song, and how accurate that is",
    "What was found, and what to do",
    "Faults that the pictures propose; accept or dismiss them in Score (P goes from one to the next)",
    "Your own note; double-click to write it",
    "How long the clip is, minutes and seconds",
    "Frames per second, as stated in the file",
)
GONE = "The file is missing (Ctrl+M finds it)."
PROGRESS = Qt.ItemDataRole.UserRole + 1
SORT = Qt.ItemDataRole.UserRole + 2
CLIP = Qt.ItemDataRole.UserRole + 3
ORDER = (Verdict.DOUBTFUL, Verdict.UNREADABLE, Verdict.NO_SONG, Verdict.WAITING, Verdict.PLACED)
"""What wants a look comes first when sorted by verdict."""

Index = QModelIndex | QPersistentModelIndex


class ClipsModel(QAbstractTableModel):
    """Rows are the clips in the order they were added."""

    renamed = Signal(str, str)
    """The angle of a clip (by its id) was typed anew."""
    noted = Signal(str, str)
    """The note of a clip (by its id) was typed anew."""

    def __init__(self, theme: Theme, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._clips: tuple[Clip, ...] = ()
        self._angles: dict[str, str] = {}
        self._safeties: set[str] = set()
        self._map = SongMap()
        self._songs: Mapping[str, Sequence[Standing]] | None = None
        self.called: Sequence[str] = ()
        """Names of the songs where there are several: takes tell theirs."""
        self._progress: Mapping[str, float] = {}
        self._gone: frozenset[str] = frozenset()

    def show_shoot(
        self,
        shoot: SongView,
        songs: Mapping[str, Sequence[Standing]] | None = None,
        called: Sequence[str] = (),
    ) -> None:
        """Show the clips of a shoot; rows stay in place as long as the same clips are there.

        ``songs``: where there are several, those that run through each clip, by its id; ``called`` are the
        names of all.
        """
        self._songs, self.called = songs, called
        same = [c.id for c in shoot.clips] == [c.id for c in self._clips]
        if not same:
            self.beginResetModel()
        self._clips = shoot.clips
        self._angles = {angle.id: angle.name for angle in shoot.angles}
        self._safeties = {angle.id for angle in shoot.angles if angle.safety}
        self._map = shoot.song.map if shoot.song else SongMap()
        if not same:
            self.endResetModel()
        elif self._clips:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._clips) - 1, RATE))

    def show_progress(self, progress: Mapping[str, float]) -> None:
        """Show how far each clip being placed is, by path."""
        before, self._progress = self._progress, dict(progress)
        for row, clip in enumerate(self._clips):
            path = clip.media.path
            if before.get(path) != self._progress.get(path):
                self.dataChanged.emit(self.index(row, VERDICT), self.index(row, VERDICT), [PROGRESS])

    def show_gone(self, gone: frozenset[str]) -> None:
        """Mark the clips (by their ids) whose files are no longer where they were."""
        self._gone = gone
        if self._clips:
            self.dataChanged.emit(self.index(0, FILE), self.index(len(self._clips) - 1, WHY))

    def clip(self, row: int) -> Clip:
        """The clip of a row."""
        return self._clips[row]

    def texts(self, column: int) -> list[str]:
        """What stands in a column, row by row."""
        return [self._text(clip, column) for clip in self._clips]

    def row_text(self, row: int) -> str:
        """What can be searched in a row: angle, folder, file, verdict, why, songs, faults proposed, note."""
        clip = self._clips[row]
        folder = clip.media.path.replace("\\", "/").split("/")[-2:-1]
        parts = [self._text(clip, column) for column in (ANGLE, FILE, VERDICT, WHY, NOTE)]
        parts += [one.called for one in (self._songs or {}).get(clip.id, ())]
        return " ".join([*folder, *parts, proposed_words(clip.marks)])

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(self._clips)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(HEADS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        if orientation is not Qt.Orientation.Horizontal:
            return None
        return (
            {Qt.ItemDataRole.DisplayRole: HEADS, Qt.ItemDataRole.ToolTipRole: TIPS}.get(
                Qt.ItemDataRole(role), (None,) * len(HEADS)
            )[section]
            if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole)
            else None
        )

    def flags(self, index: Index) -> Qt.ItemFlag:
        flags = Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled
        return flags | Qt.ItemFlag.ItemIsEditable if index.column() in (ANGLE, NOTE) else flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        clip, column = self._clips[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(clip, column)
        if role == Qt.ItemDataRole.EditRole and column in (ANGLE, NOTE):
            return self._text(clip, column)
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleDescriptionRole):
            return self._tip(clip, column)
        if role == Qt.ItemDataRole.ForegroundRole:
            return self._colour(clip, column)
        if role == PROGRESS and column == VERDICT:
            return self._progress.get(clip.media.path) or None  # a clip in line shows no bar yet
        if role == SORT:
            return self._sort(clip, column)
        if role == CLIP:
            return clip
        return None

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        if role != Qt.ItemDataRole.EditRole or index.column() not in (ANGLE, NOTE):
            return False
        clip = self._clips[index.row()]
        if index.column() == NOTE:
            self.noted.emit(clip.id, str(value))
            return str(value).strip() != clip.note
        if str(value).strip() in ("", self._angles.get(clip.angle_id, "")):
            return False
        self.renamed.emit(clip.id, str(value))
        return True

    def _text(self, clip: Clip, column: int) -> str:
        if column == ANGLE:
            return self._angles.get(clip.angle_id, "")
        if column == PICTURES:
            return ""
        if column == FILE:
            return words.file_name(clip)
        if column == VERDICT:
            return f"{GLYPHS[clip.verdict]}  {clip_verdict(clip)}"
        if column == TAKES and self._songs is not None:
            return "\n".join(
                f"{one.called}: {words.take_place(one.song.map, take, to_its_end=True)}"
                for one in self._songs.get(clip.id, ())
                for take in one.clip.takes
            )
        if column == TAKES:
            several = len(clip.takes) > 1
            places = [words.take_place(self._map, take, to_its_end=several) for take in clip.takes]
            if several:
                mixed = len({take.verdict for take in clip.takes}) > 1
                glyphs = [f"{GLYPHS[take.verdict]} " if mixed else "" for take in clip.takes]
                places = [
                    f"{glyph}take {number}: {place}"
                    for number, (glyph, place) in enumerate(zip(glyphs, places, strict=True), 1)
                ]
            return "\n".join(places)
        if column == WHY:
            placed = [sentence(take.reason) for take in clip.takes if take.verdict is Verdict.PLACED]
            gone = GONE if clip.id in self._gone else ""
            said = dict.fromkeys((gone, sentence(clip.reason), *placed, *clip.warnings))
            return " ".join(text for text in said if text)
        if column == PROPOSED:
            return str(len(seen_faults(clip.marks)) or "")
        if column == NOTE:
            return clip.note
        if column == LENGTH:
            return words.song_time(clip.duration_s, 1) if clip.duration_s else ""
        if clip.verdict is Verdict.WAITING and not clip.duration_s:
            return ""
        return words.rate(clip.frame_rate, clip.variable_frame_rate) if clip.duration_s else ""

    def _tip(self, clip: Clip, column: int) -> str:
        if column == PICTURES:
            return TIPS[PICTURES]
        if column == FILE:
            return clip.media.path
        if column == TAKES:
            if self._songs is not None:
                return "\n".join(
                    f"{one.called}, {_take_line(one.clip, take, one.song.map)}"
                    for one in self._songs.get(clip.id, ())
                    for take in one.clip.takes
                )
            return "\n".join(_take_line(clip, take, self._map) for take in clip.takes)
        if column == PROPOSED:
            return proposed_words(clip.marks)
        if column == ANGLE and clip.angle_id in self._safeties:
            return f"{self._text(clip, column)} (safety)"
        return self._text(clip, column)

    def _colour(self, clip: Clip, column: int) -> QColor | None:
        wants_look = clip.verdict in (Verdict.DOUBTFUL, Verdict.UNREADABLE)
        if column == VERDICT and wants_look:
            return self._theme.colour("warm")
        if column in (FILE, WHY) and clip.id in self._gone:
            return self._theme.colour("warm")
        if column in (LENGTH, RATE, NOTE) or (column == VERDICT and clip.verdict is Verdict.WAITING):
            return self._theme.colour("dim")
        return None

    def _sort(self, clip: Clip, column: int) -> float | int | str:
        if column == VERDICT:
            return ORDER.index(clip.verdict)
        if column == PICTURES:
            column = FILE  # pictures have no order of their own
        if column == TAKES:
            return min((take.song_start_s for take in clip.takes), default=float("inf"))
        if column == PROPOSED:
            return -len(seen_faults(clip.marks))  # what wants a look comes first
        if column == LENGTH:
            return clip.duration_s
        if column == RATE:
            return float(clip.frame_rate or 0)
        return self._text(clip, column).casefold()


def _take_line(clip: Clip, take: Take, song_map: SongMap) -> str:
    return f"{words.take_name(clip, take)}: {words.take_place(song_map, take)}, {words.take_state(take)}"


def clip_verdict(clip: Clip) -> str:
    """The verdict as the table says it."""
    if clip.verdict is Verdict.PLACED and any(t.decision is not Decision.COMPUTED for t in clip.takes):
        decided = {take.decision for take in clip.takes if take.decision is not Decision.COMPUTED}
        return f"placed, {' and '.join(sorted(d.value for d in decided))}"
    return clip_word(clip.verdict, clip.reason)
