"""The keys and buttons of Check."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QKeySequence

from app.model.check_queue import Entry
from app.window.check.queue_list import FILTER_KEY, SORT_KEY
from app.window.playing.watch_panel import KEYS as WATCH_KEYS

if TYPE_CHECKING:
    from app.window.check.check_place import CheckPlace

MOST_PLACES = 9
MOVING = "Moving pictures in place of the frames"
NOT_THIS = "The song does not run in this take"
FRAME, QUARTER, MS = 1.0, 0.25, 0.001


class CheckKeys:
    """Makes the actions of Check, and keeps their words true."""

    def __init__(self, place: "CheckPlace") -> None:
        act = place.action
        self.confirm = act("Confirm This Place", "Return", "The take lies at the place shown", place.decide)
        self.refuse = act("Not This Song", "N", NOT_THIS, place.refuse)
        self.settle = act(
            "Settle Here", "S", "Move to the nearest good fit within half a second", place.settle
        )
        self.pins = act(
            "Pin Frames", "P", "Place it by pictures: this frame is that beat of the song", place.toggle_pins
        )
        self.mark = act("Mark From Here", "M", "Mark a stretch of the clip as a take of its own", place.mark)
        self.doubt = act("Next Doubt", "D", "Go to the next take in doubt", place.next_doubt)
        self.watch = act("Watch", "W", MOVING, place.toggle_watching)
        self.give_up = act("Give Up", "Escape", "Leave what was begun", place.give_up)
        act("List Other Takes", FILTER_KEY, "Which takes are listed", place.queue.next_filter)
        act("Sort Takes Again", SORT_KEY, "Those in doubt first, decided ones last", place.queue.sort_again)
        act("Take Before", "Up", "Go to the take before", lambda: place.queue.step(-1))
        act("Next Take", "Down", "Go to the next take", lambda: place.queue.step(1))
        # Keys of the rows themselves would press them a moment later, and Enter in between would decide.
        for number in range(1, MOST_PLACES + 1):
            act(
                f"Look at Place {number}",
                str(number),
                "Look at one of the places without deciding",
                lambda _=False, number=number: place.look_at_row(number - 1),
            )
        self.before = act("Frame Back", "Left", "One frame earlier", lambda: place.step(-FRAME))
        self.after = act("Frame On", "Right", "One frame later", lambda: place.step(FRAME))
        act("Quarter Frame Earlier", "Shift+Left", "A quarter of a frame", lambda: place.step(-QUARTER))
        act("Quarter Frame Later", "Shift+Right", "A quarter of a frame", lambda: place.step(QUARTER))
        act("Millisecond Earlier", "Alt+Left", "A millisecond", lambda: place.step(0.0, -MS))
        act("Millisecond Later", "Alt+Right", "A millisecond", lambda: place.step(0.0, MS))
        self.confirm.setShortcuts([QKeySequence("Return"), QKeySequence("Enter")])
        for once in (self.confirm, self.refuse, self.settle):
            # A key held too long decides nothing about the take that comes next.
            once.setAutoRepeat(False)
        self.beat_back = act("Bar Before", "Ctrl+Left", "Look at the bar before", lambda: place.step_bars(-1))
        self.beat_on = act("Next Bar", "Ctrl+Right", "Look at the next bar", lambda: place.step_bars(1))
        act("Moment Before", "PgUp", "Start, quarters and end of the take", lambda: place.step_moment(-1))
        act("Next Moment", "PgDown", "Start, quarters and end of the take", lambda: place.step_moment(1))

    @property
    def buttons(self) -> Sequence[QAction]:
        """Those with a button beside the proofs, the main one first."""
        return self.confirm, self.settle, self.refuse, self.pins, self.mark, self.doubt, self.watch

    @property
    def pin_buttons(self) -> Sequence[QAction]:
        """Those with a button below the beats."""
        return self.before, self.after, self.beat_back, self.beat_on

    def table(self) -> list[tuple[str, str]]:
        """Keys and what they do."""
        return [
            ("↑ ↓", "from take to take"),
            ("D", "next take in doubt"),
            (FILTER_KEY, "list other takes"),
            (SORT_KEY, "sort the list again: those in doubt first, decided ones last"),
            ("1 … 9", "look at one of the places, without deciding"),
            ("Enter", "the take lies at the place shown; with pins: pin the frame; on a button: press it"),
            ("← →", "move the take by a frame; with pins: frame by frame"),
            ("Shift+← →", "by a quarter of a frame; with pins: second by second"),
            ("Alt+← →", "by a millisecond"),
            ("S", "settle onto the nearest good fit"),
            ("Page ↑ ↓", "start, quarters and end of the take; with pins: bar by bar"),
            ("Ctrl+← →", "bar by bar; with pins: beat by beat"),
            ("P", "pin frames to beats"),
            ("M", "mark a stretch as a take of its own: from here, then to here"),
            ("N", "the song does not run in this take; of a refused one: take that back"),
            ("Esc", "leave what was begun"),
            ("W", "moving pictures in place of the frames"),
            *WATCH_KEYS,
        ]

    def fit(self, entry: Entry | None, pinning: bool, *, choosing: bool = False) -> None:
        """Let the words and what can be used follow what is looked at."""
        take = None if entry is None else entry.take
        self.confirm.setText("Choose This Place" if choosing else "Confirm This Place")
        if pinning:
            self.confirm.setText("Pin This Frame")
        self.confirm.setEnabled(take is not None or (pinning and entry is not None))
        self.settle.setEnabled(take is not None and not pinning)
        refused = entry is not None and entry.refused is not None
        self.refuse.setText("Take Back" if refused else "Not This Song")
        self.refuse.setToolTip(f"{'It is this song after all' if refused else NOT_THIS} (N)")
        self.refuse.setEnabled(refused or (entry is not None and entry.clip.decided is None))
        self.pins.setEnabled(take is not None)
        self.pins.setText("Back to Proofs" if pinning and take is not None else "Pin Frames")
        self.mark.setEnabled(take is not None)
        self.watch.setEnabled(take is not None and not pinning)
        self.watch.setToolTip(f"{'Frames are shown while they are pinned' if pinning else MOVING} (W)")
        self.beat_back.setText("Beat Back" if pinning else "Bar Before")
        self.beat_on.setText("Beat On" if pinning else "Next Bar")

    def name_mark(self, *, begun: bool) -> None:
        """Say what marking does next."""
        self.mark.setText("Mark To Here" if begun else "Mark From Here")
