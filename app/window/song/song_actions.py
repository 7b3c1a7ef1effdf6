"""The keys and buttons of Song."""

from typing import TYPE_CHECKING

from PySide6.QtGui import QAction

from app.model.song_map.map_sections import Snap

if TYPE_CHECKING:
    from app.window.song.song_place import SongPlace

NUDGE_S = 0.005
METRES = (2, 3, 4, 5, 6, 7)
KEYS = [
    ("← →", "beat by beat"),
    ("Ctrl+← →", "bar by bar"),
    ("Page ↑ ↓", "section by section; the one you come to is chosen"),
    ("Home End", "start and end of the song"),
    ("+ − 0", "zoom: closer, farther, the whole song"),
    ("C", "click on every beat, or not"),
    ("T", "tap the tempo: on every beat while it plays"),
    ("H D", "half tempo, double tempo"),
    ("Shift+H Shift+D", "the same from this bar on"),
    ("B", "the beat is half a beat later"),
    ("Alt+← →", "all beats 5 ms earlier or later"),
    ("O", "this beat is one; bar lines that nobody fixed move along"),
    ("Shift+O", "this beat is one; bar lines before it stay"),
    ("2 … 7", "so many beats a bar from here on"),
    ("S", "another section begins at this bar line"),
    ("Shift+S", "another section begins at this beat"),
    ("J", "join the chosen section with the one before"),
    ("F2", "name the chosen section"),
    ("L", "another letter for the chosen section"),
    ("Shift+L", "letter all sections in order"),
    ("Shift+← →", "start of the chosen section: by a bar"),
    ("Ctrl+Shift+← →", "by a beat"),
    ("Alt+Shift+← →", "by 5 ms"),
    ("Ctrl+L", "write the map as labels, which audio editors read"),
    ("Ctrl+Shift+L", "read such a file"),
    ("G", "take the rest from here again; what you fixed stays"),
    ("Esc", "stop that, or forget the taps"),
]


class SongKeys:
    """Makes the actions of Song."""

    def __init__(self, place: "SongPlace") -> None:
        act, deeds = place.action, place.deeds
        self.tap = act("Tap Tempo", "T", "Tap on every beat while it plays", place.tap)
        self.half = act("Half", "H", "Every second beat is one", lambda: deeds.half())
        self.double = act("Double", "D", "A beat between each two", lambda: deeds.double())
        self.half_on = act(
            "Half From Here On", "Shift+H", "Half the tempo from this bar on", lambda: deeds.half(onward=True)
        )
        self.double_on = act(
            "Double From Here On",
            "Shift+D",
            "Twice the tempo from this bar on",
            lambda: deeds.double(onward=True),
        )
        self.one = act(
            "This Is One",
            "O",
            "This beat begins a bar; bar lines nobody fixed move along",
            lambda: deeds.one(),
        )
        self.one_on = act(
            "One From Here On",
            "Shift+O",
            "This beat begins a bar; bar lines before it stay",
            lambda: deeds.one(onward=True),
        )
        self.off_beat = act(
            "Off the Beat", "B", "All beats half a beat later", lambda: deeds.half_a_beat_on()
        )
        self.earlier = act(
            "Beats Earlier", "Alt+Left", "All beats 5 ms earlier", lambda: deeds.nudge(-NUDGE_S)
        )
        self.later = act("Beats Later", "Alt+Right", "All beats 5 ms later", lambda: deeds.nudge(NUDGE_S))
        self.metres = tuple(
            act(
                f"{beats} Beats a Bar",
                str(beats),
                f"{beats} beats a bar from here on",
                lambda _=False, beats=beats: deeds.metre(beats),
            )
            for beats in METRES
        )
        self.split = act(
            "Split Here", "S", "Another section begins at this bar line", lambda: deeds.split(Snap.BAR)
        )
        self.split_beat = act(
            "Split at Beat", "Shift+S", "Another section begins at this beat", lambda: deeds.split(Snap.BEAT)
        )
        self.join = act("Join", "J", "Join the chosen section with the one before", lambda: deeds.join())
        self.rename = act("Rename", "F2", "Name the chosen section", place.rename)
        self.letter = act("Letter", "L", "Give the chosen section another letter", place.letter)
        self.letters = act(
            "Letter in Order", "Shift+L", "Letter all sections in order", lambda: deeds.letter_again()
        )
        for keys, how, snap in (
            ("Shift", "a Bar", Snap.BAR),
            ("Ctrl+Shift", "a Beat", Snap.BEAT),
            ("Alt+Shift", "5 ms", Snap.FREE),
        ):
            for key, way, by in (("Left", "Earlier", -1), ("Right", "Later", 1)):
                act(
                    f"Edge {how} {way}",
                    f"{keys}+{key}",
                    f"The chosen section begins {how} {way.lower()}",
                    lambda _=False, snap=snap, by=by: deeds.step_edge(snap, by, NUDGE_S),
                )
        self.again = act(
            "Take the Rest From Here Again",
            "G",
            "Look at the song again from this bar on; what you fixed stays",
            place.again.from_here,
        )
        self.read_labels = act(
            "Read Labels…",
            "Ctrl+Shift+L",
            "Take beats, bars and sections from a file of labels made elsewhere",
            lambda: place.labels.read(),
        )
        self.write_labels = act(
            "Write Labels…",
            "Ctrl+L",
            "Write beats, bars and sections as labels, which audio editors read",
            lambda: place.labels.write(),
        )
        self.give_up = act("Give Up", "Escape", "Stop looking again, forget the taps", place.give_up)
        act("Beat Before", "Left", "One beat back", lambda: place.step(Snap.BEAT, -1))
        act("Next Beat", "Right", "One beat on", lambda: place.step(Snap.BEAT, 1))
        act("Bar Before", "Ctrl+Left", "One bar back", lambda: place.step(Snap.BAR, -1))
        act("Next Bar", "Ctrl+Right", "One bar on", lambda: place.step(Snap.BAR, 1))
        act("Section Before", "PgUp", "To the section before", lambda: place.step_section(-1))
        act("Next Section", "PgDown", "To the next section", lambda: place.step_section(1))
        act("Start of Song", "Home", "To the start of the song", lambda: place.go_to(0.0))
        act("End of Song", "End", "To the end of the song", lambda: place.go_to(place.end_s))
        self.clicks = act("Clicks", "C", "Click on every beat, or not", place.toggle_clicks)
        act("Closer", "+", "Closer", lambda: place.canvas.zoom_by(1))
        act("Farther", "-", "Farther", lambda: place.canvas.zoom_by(-1))
        self.whole = act(
            "Whole Song", "0", "The whole song, or a part of it", lambda: place.canvas.zoom_whole()
        )

        # A key that is held would tap, double or join again and again.
        for action in (*self.of_beats[:6], *self.of_sections, *self.metres, self.half_on, self.double_on):
            action.setAutoRepeat(False)
        once = (self.again, self.clicks, self.split_beat, self.letters, self.read_labels, self.write_labels)
        for action in once:
            action.setAutoRepeat(False)

    @property
    def of_beats(self) -> tuple[QAction, ...]:
        """Those with a button that correct beats and bars."""
        return (
            self.tap,
            self.half,
            self.double,
            self.one,
            self.one_on,
            self.off_beat,
            self.earlier,
            self.later,
        )

    @property
    def of_sections(self) -> tuple[QAction, ...]:
        """Those with a button that correct sections."""
        return self.split, self.join, self.rename, self.letter

    @property
    def of_menu(self) -> tuple[tuple[QAction, ...], ...]:
        """Those of the menu in the map, in groups."""
        return (
            (self.one, self.one_on, self.half_on, self.double_on),
            self.metres,
            (self.split, self.split_beat, self.join, self.letters),
            (self.again,),
            (self.read_labels, self.write_labels),
        )

    def fit(self, *, song: bool, beats: bool) -> None:
        """Let what can be used follow what there is."""
        for action in (*self.of_beats[1:], self.half_on, self.double_on, *self.metres, self.clicks):
            action.setEnabled(beats)
        of_song = (self.split_beat, self.letters, self.again, self.read_labels, self.write_labels)
        for action in (self.tap, *self.of_sections, *of_song):
            action.setEnabled(song)

    @staticmethod
    def table() -> list[tuple[str, str]]:
        """Keys and what they do."""
        return KEYS
