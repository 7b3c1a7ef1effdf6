"""What is wanted of a playback kit: where the files start, what comes before, how fast, how loud."""

from collections.abc import Sequence
from fractions import Fraction

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.model.document.plan import Plan
from app.model.document.song import Song
from app.model.kit.kit_plan import KitWish
from app.model.kit.wish import FASTEST, MOST_BARS, SLOWEST, Wish, parse_speed, speed_for
from app.model.set_advice.camera_rates import CAMERAS, TIMELINE_RATES
from app.model.song_map.bar_spans import section_words, song_sections
from app.model.timebase import rate_words
from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.parts.tick_box import TickBox
from app.window.parts.tick_list import TickList

LOUDNESS = (None, -14.0, -16.0, -18.0, -20.0, -23.0)
"""LUFS; None leaves the song as it is mixed."""
COUNT_IN, LEAD_IN = 2, 4
_ROLE = Qt.ItemDataRole.UserRole


class KitChoices(QWidget):
    """The fields; ``changed`` after each change of them."""

    changed = Signal()

    def __init__(self, theme: Theme, song: Song, plan: Plan, rate: Fraction | None) -> None:
        """``rate`` is the timeline's, as far as it is known. Starts and speeds of the plan are ticked."""
        super().__init__()
        self._theme = theme
        planned = {one.passage.section_id for one in plan.set_ups}
        sections = [(section_words(one), one.id) for one in song_sections(song)]
        self.starts = self._ticks("Where playback files start", "One file for each ticked start")
        rows = [("Whole song", ""), *((f"From {words}", key) for words, key in sections if key)]
        self.starts.fill(rows, ["", *planned])
        self.count_in = _bars(COUNT_IN, "Count-in", "Bars of clicks before the song, at its own tempo")
        self.lead_in = _bars(
            LEAD_IN, "Lead-in", "Bars of the song before a section, so that the band is in it"
        )
        self.to_end = self._box("Stop one bar after the &section", "Files from a section end with it")
        self.rate = self._drop(
            [(f"{rate_words(one)} fps", one) for one in TIMELINE_RATES], "Frame rate of the timeline"
        )
        at = TIMELINE_RATES.index(rate) if rate in TIMELINE_RATES else TIMELINE_RATES.index(Fraction(25))
        self.rate.setCurrentIndex(at)
        self.speeds = self._ticks("Playback speeds", "One file for each ticked speed")
        self._fill_speeds({one.speed for one in plan.set_ups} | {Fraction(1)})
        self.other = QLineEdit()
        self.other.setAccessibleName("Other speeds")
        self.other.setPlaceholderText("1.25, 80%, 60:24000/1001")
        self.other.setToolTip("More speeds, with commas between them; a camera's rate : the timeline's rate")
        self.pitch = self._box("Keep the &pitch at other speeds", "The tempo changes, the pitch stays")
        self.pop = self._box("&2-pop", "One frame of 1 kHz two seconds before the start")
        self.code = self._box(
            "Linear &timecode on the right channel", "SMPTE timecode on the right, the song on the left"
        )
        levels = [("As mixed" if one is None else f"{one:.0f} LUFS", one) for one in LOUDNESS]
        self.loudness = self._drop(levels, "Loudness")
        self.loudness.setToolTip("Turn the song up or down to this loudness, as far as its peaks allow")
        self._arrange()
        self._connect()

    @property
    def wish(self) -> KitWish:
        """What is wanted. Raises ValueError with a sentence."""
        typed = [parse_speed(one.strip()) for one in self.other.text().split(",") if one.strip()]
        starts = [str(one) for one in self.starts.ticked]
        usual = Wish(
            count_in_bars=self.count_in.value(),
            lead_in_bars=self.lead_in.value(),
            to_section_end=self.to_end.isChecked(),
            pitch_kept=self.pitch.isChecked(),
            pop=self.pop.isChecked(),
            frame_rate=self.frame_rate,
            timecode=self.code.isChecked(),
        )
        speeds = [one for one in self.speeds.ticked if isinstance(one, Fraction)]
        sections = [one for one in starts if one]
        return KitWish(whole="" in starts, section_ids=sections, speeds=[*speeds, *typed], usual=usual)

    @property
    def frame_rate(self) -> Fraction:
        """Of the timeline."""
        rate = self.rate.currentData(_ROLE)
        assert isinstance(rate, Fraction)
        return rate

    @property
    def loudness_lufs(self) -> float | None:
        """How loud the song is made; None: as it is mixed."""
        return LOUDNESS[self.loudness.currentIndex()]

    def _fill_speeds(self, ticked: set[Fraction]) -> None:
        rate = self.frame_rate
        rows = [("As recorded: 100 %", Fraction(1))]
        for camera in CAMERAS:
            speed = speed_for(camera, rate)
            # A rate next to the timeline's own is not meant to be slow or fast motion.
            if SLOWEST <= speed <= FASTEST and abs(speed - 1) > Fraction(1, 200):
                rows.append((speed_words(camera, rate), speed))
        rows += [(f"{_percent(one)} %", one) for one in sorted(ticked) if one not in [own for _, own in rows]]
        self.speeds.fill(rows, list(ticked))

    def _on_rate(self) -> None:
        # What was ticked for a camera is of another rate now.
        self._fill_speeds({Fraction(1)} & set(self._ticked_speeds()))
        self.changed.emit()

    def _ticked_speeds(self) -> Sequence[Fraction]:
        return [one for one in self.speeds.ticked if isinstance(one, Fraction)]

    def _ticks(self, name: str, tip: str) -> TickList:
        made = TickList(self._theme)
        made.setAccessibleName(name)
        made.setToolTip(f"{tip} (Space)")
        return made

    def _box(self, text: str, tip: str) -> TickBox:
        box = TickBox(self._theme, text)
        box.setAccessibleName(text.replace("&", ""))
        box.setToolTip(tip)
        return box

    def _drop(self, rows: Sequence[tuple[str, object]], name: str) -> DropDown:
        drop = DropDown(self._theme)
        for words, value in rows:
            drop.addItem(words)
            drop.setItemData(drop.count() - 1, value, _ROLE)
        drop.setAccessibleName(name)
        drop.setToolTip(name)
        return drop

    def _arrange(self) -> None:
        em = round(self._theme.em())
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(round(em * 0.4))
        box.addWidget(TextLabel(self._theme, "Start with", bold=True))
        self.starts.setMinimumHeight(em * 5)
        box.addWidget(self.starts, 3)
        form = QFormLayout()
        form.addRow("&Count-in", self.count_in)
        form.addRow("&Lead-in before a section", self.lead_in)
        box.addLayout(form)
        box.addWidget(self.to_end)
        box.addWidget(TextLabel(self._theme, "Speeds", bold=True))
        rates = QFormLayout()
        rates.addRow("&Frame rate of the timeline", self.rate)
        box.addLayout(rates)
        self.speeds.setMinimumHeight(em * 5)
        box.addWidget(self.speeds, 3)
        more = QFormLayout()
        more.addRow("&Other speeds", self.other)
        box.addLayout(more)
        for one in (self.pitch, self.pop, self.code):
            box.addWidget(one)
        last = QFormLayout()
        last.addRow("Lou&dness", self.loudness)
        box.addLayout(last)

    def _connect(self) -> None:
        for one in (self.starts, self.speeds):
            one.ticked_changed.connect(self.changed)
        for spin in (self.count_in, self.lead_in):
            spin.valueChanged.connect(self.changed)
        for box in (self.to_end, self.pitch, self.pop, self.code):
            box.toggled.connect(self.changed)
        self.other.textChanged.connect(self.changed)
        self.rate.currentIndexChanged.connect(self._on_rate)
        self.loudness.currentIndexChanged.connect(self.changed)


def speed_words(camera: Fraction, timeline: Fraction) -> str:
    """A camera's rate and the speed that goes with it, exact.

    >>> speed_words(Fraction(60), Fraction(24000, 1001)), speed_words(Fraction(50), Fraction(25))
    ('Camera 60 fps: 250.25 % (1001/400)', 'Camera 50 fps: 200 %')
    """
    speed = speed_for(camera, timeline)
    exact = "" if (100 * speed).denominator == 1 else f" ({speed})"
    return f"Camera {rate_words(camera)} fps: {_percent(speed)} %{exact}"


def _percent(speed: Fraction) -> str:
    return f"{float(100 * speed):.4f}".rstrip("0").rstrip(".")


def _bars(value: int, name: str, tip: str) -> QSpinBox:
    box = QSpinBox()
    box.setRange(0, MOST_BARS)
    box.setSuffix(" bars")
    box.setValue(value)
    box.setAccessibleName(name)
    box.setToolTip(tip)
    return box
