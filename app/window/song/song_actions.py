"""The table of what can be done in Song."""

from collections.abc import Sequence
from functools import partial

from app.model.song_map.map_sections import Snap
from app.window.parts.actions import Action, Line
from app.window.song.clicks_field import ClicksField
from app.window.song.map_canvas import MapCanvas
from app.window.song.map_steps import MapSteps
from app.window.song.song_again import SongAgain
from app.window.song.song_cursor import SongCursor
from app.window.song.song_labels import SongLabels
from app.window.song.song_table import LETTER, NAME, SongTable
from app.window.song.song_taps import SongTaps

NUDGE_S = 0.005
METRES = (2, 3, 4, 5, 6, 7)
"""Beats a bar that can be chosen."""
TEMPO, BARS, SECTIONS, GO_TO, ZOOM = "&Tempo", "&Bars", "&Sections", "&Go To", "&Zoom"
EDGES = (
    ("Shift", "a Bar", "start of the chosen section: by a bar", Snap.BAR),
    ("Ctrl+Shift", "a Beat", "by a beat", Snap.BEAT),
    ("Alt+Shift", "5 ms", "by 5 ms", Snap.FREE),
)
"""What is held with an arrow, and by how much that moves the start of the chosen section."""
BEAT_BUTTONS = ("tap", "half", "double", "one", "one on", "off beat", "earlier", "later")
SECTION_BUTTONS = ("split", "join", "rename", "letter", "again", "read labels", "write labels")
MAP_MENU = (
    ("one", "one on", "half on", "double on"),
    tuple(f"metre {beats}" for beats in METRES),
    ("split", "split beat", "join", "letters"),
    ("again",),
    ("read labels", "write labels"),
)
"""The menu in the map, in groups."""


def song_actions(
    cursor: SongCursor,
    steps: MapSteps,
    taps: SongTaps,
    again: SongAgain,
    labels: SongLabels,
    canvas: MapCanvas,
    table: SongTable,
    clicks: ClicksField,
) -> Sequence[Line]:
    """How one goes about in the song, and how its map is put right."""

    def song() -> bool:
        return steps.has_song

    def beats() -> bool:
        return bool(steps.song_map.beats_s)

    def give_up() -> None:
        if again.stop():
            steps.message.emit("Stopped. The map is as it was.")
        elif taps.forget():
            steps.message.emit("The taps are forgotten.")
        else:
            steps.message.emit("")

    return (
        Line(
            "beat by beat",
            Action("Beat Before", "Left", "One beat back", partial(cursor.step, Snap.BEAT, -1), menu=GO_TO),
            Action("Next Beat", "Right", "One beat on", partial(cursor.step, Snap.BEAT, 1), menu=GO_TO),
        ),
        Line(
            "bar by bar",
            Action("Bar Before", "Ctrl+Left", "One bar back", partial(cursor.step, Snap.BAR, -1), menu=GO_TO),
            Action("Next Bar", "Ctrl+Right", "One bar on", partial(cursor.step, Snap.BAR, 1), menu=GO_TO),
        ),
        Line(
            "section by section; the one you come to is chosen",
            Action(
                "Section Before",
                "PgUp",
                "To the section before",
                partial(cursor.step_section, -1),
                menu=GO_TO,
            ),
            Action(
                "Next Section", "PgDown", "To the next section", partial(cursor.step_section, 1), menu=GO_TO
            ),
        ),
        Line(
            "start and end of the song",
            Action(
                "Start of Song", "Home", "To the start of the song", partial(cursor.go_to, 0.0), menu=GO_TO
            ),
            Action(
                "End of Song", "End", "To the end of the song", lambda: cursor.go_to(cursor.end_s), menu=GO_TO
            ),
        ),
        Line(
            "zoom: closer, farther, the whole song",
            Action("Closer", "+", "Closer", partial(canvas.zoom_by, 1), menu=ZOOM),
            Action("Farther", "-", "Farther", partial(canvas.zoom_by, -1), menu=ZOOM),
            Action(
                "Whole Song",
                "0",
                "The whole song, or a part of it",
                canvas.zoom_whole,
                name="whole",
                menu=ZOOM,
            ),
        ),
        Line(
            "click on every beat, or not",
            Action("Clicks", "C", "Click on every beat, or not", clicks.toggle, enabled=beats, repeats=False),
        ),
        Line(
            "tap the tempo: on every beat while it plays",
            Action(
                "Tap Tempo",
                "T",
                "Tap on every beat while it plays",
                taps.tap,
                name="tap",
                menu=TEMPO,
                enabled=song,
                repeats=False,  # a key that is held would tap, double or join again and again
            ),
        ),
        Line(
            "half tempo, double tempo",
            Action(
                "Half",
                "H",
                "Every second beat is one",
                steps.half,
                name="half",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
            Action(
                "Double",
                "D",
                "A beat between each two",
                steps.double,
                name="double",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "the same from this bar on",
            Action(
                "Half From Here On",
                "Shift+H",
                "Half the tempo from this bar on",
                partial(steps.half, onward=True),
                name="half on",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
            Action(
                "Double From Here On",
                "Shift+D",
                "Twice the tempo from this bar on",
                partial(steps.double, onward=True),
                name="double on",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "the beat is half a beat later",
            Action(
                "Off the Beat",
                "B",
                "All beats half a beat later",
                steps.half_a_beat_on,
                name="off beat",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "all beats 5 ms earlier or later",
            Action(
                "Beats Earlier",
                "Alt+Left",
                "All beats 5 ms earlier",
                partial(steps.nudge, -NUDGE_S),
                name="earlier",
                menu=TEMPO,
                enabled=beats,
            ),
            Action(
                "Beats Later",
                "Alt+Right",
                "All beats 5 ms later",
                partial(steps.nudge, NUDGE_S),
                name="later",
                menu=TEMPO,
                enabled=beats,
            ),
        ),
        Line(
            "this beat is one; bar lines that nobody fixed move along",
            Action(
                "This Is One",
                "O",
                "This beat begins a bar; bar lines nobody fixed move along",
                steps.one,
                name="one",
                menu=BARS,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "this beat is one; bar lines before it stay",
            Action(
                "One From Here On",
                "Shift+O",
                "This beat begins a bar; bar lines before it stay",
                partial(steps.one, onward=True),
                name="one on",
                menu=BARS,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "so many beats a bar from here on",
            *(
                Action(
                    f"{count} Beats a Bar",
                    str(count),
                    f"{count} beats a bar from here on",
                    partial(steps.metre, count),
                    name=f"metre {count}",
                    menu=BARS,
                    enabled=beats,
                    repeats=False,
                )
                for count in METRES
            ),
        ),
        Line(
            "another section begins at this bar line",
            Action(
                "Split Here",
                "S",
                "Another section begins at this bar line",
                partial(steps.split, Snap.BAR),
                name="split",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "another section begins at this beat",
            Action(
                "Split at Beat",
                "Shift+S",
                "Another section begins at this beat",
                partial(steps.split, Snap.BEAT),
                name="split beat",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "join the chosen section with the one before",
            Action(
                "Join",
                "J",
                "Join the chosen section with the one before",
                steps.join,
                name="join",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "name the chosen section",
            Action(
                "Rename",
                "F2",
                "Name the chosen section",
                partial(table.type_into, NAME),
                name="rename",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "another letter for the chosen section",
            Action(
                "Letter",
                "L",
                "Give the chosen section another letter",
                partial(table.type_into, LETTER),
                name="letter",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "letter all sections in order",
            Action(
                "Letter in Order",
                "Shift+L",
                "Letter all sections in order",
                steps.letter_again,
                name="letters",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        *(
            Line(
                text,
                *(
                    Action(
                        f"Edge {how} {way}",
                        f"{held}+{key}",
                        f"The chosen section begins {how} {way.lower()}",
                        partial(steps.step_edge, snap, by, NUDGE_S),
                        menu=SECTIONS,
                    )
                    for key, way, by in (("Left", "Earlier", -1), ("Right", "Later", 1))
                ),
            )
            for held, how, text, snap in EDGES
        ),
        Line(
            "write the map as labels, which audio editors read",
            Action(
                "Write Labels…",
                "Ctrl+L",
                "Write beats, bars and sections as labels, which audio editors read",
                labels.write,
                name="write labels",
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "read such a file",
            Action(
                "Read Labels…",
                "Ctrl+Shift+L",
                "Take beats, bars and sections from a file of labels made elsewhere",
                labels.read,
                name="read labels",
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "take the rest from here again; what you fixed stays",
            Action(
                "Take the Rest From Here Again",
                "G",
                "Look at the song again from this bar on; what you fixed stays",
                again.from_here,
                name="again",
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "stop that, or forget the taps",
            Action("Give Up", "Escape", "Stop looking again, forget the taps", give_up, name="give up"),
        ),
    )
