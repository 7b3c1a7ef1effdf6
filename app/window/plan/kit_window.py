"""The playback kit: what is wanted, what will be made of it, the files that are known, advice for the day."""

from collections.abc import Sequence
from pathlib import Path, PurePath

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QProgressBar,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.kit.kit_plan import kit_plan
from app.model.kit.planned import RATE, Planned
from app.model.on_song import SongView
from app.model.set_advice import hearing, shutters
from app.model.set_advice.before_roll import BEFORE_ROLL, MARKED
from app.model.set_advice.camera_rates import camera_rate, rates_of_plan, timeline_of_plan
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.plan.kit_choices import KitChoices

MAKE, STOP, FOLDER, ADD = "Ctrl+Return", "Ctrl+.", "Ctrl+O", "Ctrl+I"
PIECES, NOTE, REMOVE = "F4", "F2", "Delete"

NONE_YET = "None yet. Files made here are added by themselves; add what else was played on set."


class KitWindow(QDialog):
    """Shows and asks; what comes of it is done by whoever listens."""

    make_wanted = Signal()
    stop_wanted = Signal()
    folder_wanted = Signal()
    note_wanted = Signal(str)
    """Of the playback file of that id."""
    remove_wanted = Signal(str)
    add_wanted = Signal()
    pieces_wanted = Signal(str)
    """Of the playback file of that id."""

    def __init__(
        self,
        theme: Theme,
        shoot: Shoot,
        view: SongView,
        song: Song,
        folder: Path,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme, self._shoot, self._view, self._song = theme, shoot, view, song
        self.song_id = song.id
        self.plans: Sequence[Planned] = ()
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(f"Playback Files – {song.called}")
        self.choices = KitChoices(theme, song, view.plan, timeline_of_plan(view))
        self.choices.changed.connect(self._plan)
        self.listed = _list("Files that will be made", "What Make Files will write, with durations")
        self.total = TextLabel(theme, role="dim")
        self.folder = QLineEdit(str(folder))
        self.folder.setAccessibleName("Folder")
        self.folder.setToolTip("Where the files are written")
        self.said = TextLabel(theme)
        self.shutters = TextLabel(theme)
        """For the rates of the cameras, as the timeline's rate, the plan and the speeds ticked make them."""
        self.day = TextLabel(theme)
        self.bar = QProgressBar()
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("How far the files are")
        self.bar.hide()
        self.known = _list("Playback files of this shoot", "Clips shot to these files are placed by them")
        self.none = TextLabel(theme, NONE_YET, role="dim")
        self.choose = _button("Choose…", "Choose another folder", FOLDER)
        self.make = _button("Make Files", "Write the files listed above", MAKE)
        self.make.setProperty("main", True)
        self.stop = _button("Stop", "Stop; files that are whole stay", STOP)
        self.stop.hide()
        self.add = _button("Add Playback File…", "Add a file that was played on set; its place is found", ADD)
        self.pieces = _button(
            "Pieces…", "See where songs run through the selected file, and correct it", PIECES
        )
        self.note = _button("Note…", "Say what the selected file is for", NOTE)
        self.remove = _button("Remove", "Forget the selected file; it stays on disk", "")
        gone = QShortcut(QKeySequence(REMOVE), self.known)
        gone.setContext(Qt.ShortcutContext.WidgetShortcut)
        gone.activated.connect(self.remove.click)
        self.remove.setToolTip(f"{self.remove.toolTip()} ({REMOVE})")
        self._arrange()
        self.make.clicked.connect(self.make_wanted)
        self.stop.clicked.connect(self.stop_wanted)
        self.add.clicked.connect(self.add_wanted)
        self.choose.clicked.connect(self.folder_wanted)
        self.pieces.clicked.connect(lambda: self.pieces_wanted.emit(self._chosen()))
        self.note.clicked.connect(lambda: self.note_wanted.emit(self._chosen()))
        self.remove.clicked.connect(lambda: self.remove_wanted.emit(self._chosen()))
        self.known.currentRowChanged.connect(self._on_chosen)
        self.show_shoot(shoot, view, song)

    def show_shoot(self, shoot: Shoot, view: SongView, song: Song) -> None:
        """Show the files that a shoot knows, and plan with its song."""
        self._shoot, self._view, self._song = shoot, view, song
        chosen = self.known.currentRow()
        self.known.clear()
        for one in shoot.playbacks:
            item = QListWidgetItem(known_words(one))
            item.setData(Qt.ItemDataRole.UserRole, one.id)
            item.setToolTip(one.media.path)
            self.known.addItem(item)
        self.none.setVisible(not shoot.playbacks)
        self.known.setCurrentRow(min(chosen, self.known.count() - 1))
        self._on_chosen()
        self._plan()

    def show_making(self, on: bool) -> None:
        """Show that files are being made, or no longer."""
        self.bar.setValue(0)
        self.bar.setVisible(on)
        self.stop.setVisible(on)
        self.make.setVisible(not on)
        self.choices.setEnabled(not on)

    def say(self, sentence: str, *, warm: bool = False) -> None:
        """Say what came of it."""
        self.said.set_role("warm" if warm else "ink")
        self.said.setText(f"!  {sentence}" if warm and sentence else sentence)

    def _plan(self) -> None:
        """Show what will be made of the choices."""
        self.listed.clear()
        trouble = ""
        try:
            self.plans = kit_plan(self._shoot, self._song, self.choices.wish)
        except ValueError as error:
            self.plans, trouble = (), str(error)
        for plan in self.plans:
            seconds = plan.length / RATE
            number, _, _ = plan.name.partition(" ")
            item = QListWidgetItem(f"{number}  {clock(seconds)}   {plan.what}")
            item.setToolTip(plan.name + ".wav")
            self.listed.addItem(item)
        whole_s = sum(plan.length for plan in self.plans) / RATE
        size = sum(plan.length for plan in self.plans) * 6 / 1e6
        count = len(self.plans)
        files = "1 file" if count == 1 else f"{count} files"
        self.total.setText(
            f"{files}, {clock(whole_s)}, {size:.0f} MB" if self.plans else "Nothing to make yet."
        )
        self.make.setEnabled(bool(self.plans))
        self._advise()
        self.say(trouble, warm=bool(trouble))

    def _advise(self) -> None:
        rate = self.choices.frame_rate
        ticked = [camera_rate(rate, speed) for speed in dict.fromkeys(plan.speed for plan in self.plans)]
        rates = dict.fromkeys([*rates_of_plan(self._view, rate), *ticked])
        self.shutters.setText("\n".join(map(shutters.usual_words, rates)))
        day = hearing.day_words(self._view)
        self.day.setText(day)
        self.day.setVisible(bool(day))

    def _chosen(self) -> str:
        item = self.known.currentItem()
        return "" if item is None else str(item.data(Qt.ItemDataRole.UserRole))

    def _on_chosen(self) -> None:
        for one in (self.pieces, self.note, self.remove):
            one.setEnabled(self.known.currentRow() >= 0)

    def _arrange(self) -> None:
        em = round(self._theme.em())
        scroll = QScrollArea()
        scroll.setWidget(self.choices)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setMinimumWidth(self.choices.minimumSizeHint().width() + em * 2)
        middle = QVBoxLayout()
        middle.setSpacing(em // 2)
        middle.addWidget(TextLabel(self._theme, "Files to make", bold=True))
        middle.addWidget(self.listed, 3)
        middle.addWidget(self.total)
        middle.addLayout(_row(TextLabel(self._theme, "Folder", wrap=False), self.folder, self.choose))
        middle.addWidget(TextLabel(self._theme, hearing.START_QUIETLY, bold=True))
        middle.addLayout(_row(self.make, self.bar, self.stop))
        middle.addWidget(self.said)
        middle.addWidget(TextLabel(self._theme, "Playback files of this shoot", bold=True))
        middle.addWidget(self.none)
        middle.addWidget(self.known, 2)
        middle.addLayout(_row(self.add, self.pieces, self.note, self.remove, None))
        row = QHBoxLayout(self)
        row.setSpacing(em)
        row.addWidget(scroll, 4)
        row.addLayout(middle, 6)
        row.addWidget(self._advice(em), 4)
        self.resize(em * 76, em * 42)

    def _advice(self, em: int) -> QScrollArea:
        """Advice for the day."""
        page = QWidget()
        box = QVBoxLayout(page)
        box.setSpacing(em // 3)
        loud = (hearing.exposure_words(), hearing.EUROPE, hearing.DEFER)
        parts: Sequence[tuple[str, Sequence[str | TextLabel]]] = (
            ("Before the roll", [MARKED, *(f"· {one}" for one in BEFORE_ROLL)]),
            ("Shutters under mains light", [self.shutters, shutters.NOTE]),
            ("How loud, how long", [self.day, *loud]),
        )
        for title, told in parts:
            box.addWidget(TextLabel(self._theme, title, bold=True))
            for one in told:
                box.addWidget(TextLabel(self._theme, one) if isinstance(one, str) else one)
        box.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidget(page)
        scroll.setWidgetResizable(True)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setAccessibleName("Advice for the day")
        return scroll


def clock(seconds: float) -> str:
    """Minutes and seconds of a file.

    >>> clock(252.4), clock(59.6)
    ('4:12', '1:00')
    """
    return f"{round(seconds) // 60}:{round(seconds) % 60:02}"


def known_words(one: PlaybackFile) -> str:
    """A playback file in a line: its name, how long it is, whether it was made here, its note."""
    name = PurePath(one.media.path).name
    note = f" · {one.note}" if one.note and one.note not in name else ""
    found = "" if one.pieces else " · no clip is placed by it"
    return f"{name} · {clock(one.duration_s)} · {'made here' if one.made else 'given'}{note}{found}"


def _list(name: str, tip: str) -> QListWidget:
    made = QListWidget()
    made.setAccessibleName(name)
    made.setToolTip(tip)
    made.setWordWrap(True)
    made.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return made


def _button(text: str, tip: str, key: str) -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    button.setAccessibleName(text)
    if key:
        button.setShortcut(key)
    shown = QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText).replace("Return", "Enter")
    button.setToolTip(f"{tip} ({shown})" if key else tip)
    return button


def _row(*widgets: QWidget | None) -> QHBoxLayout:
    row = QHBoxLayout()
    for one in widgets:
        if one is None:
            row.addStretch(1)
        else:
            row.addWidget(one)
    return row
