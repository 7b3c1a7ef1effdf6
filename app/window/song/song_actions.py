"""The table of what can be done in Song."""

from collections.abc import Sequence
from functools import partial

from app.model.song_map.map_sections import Snap
from app.window.parts.actions import Action, Line
from app.window.song.beat_actions import METRES, NUDGE_S, beat_actions
from app.window.song.clicks_field import ClicksField
from app.window.song.map_canvas import MapCanvas
from app.window.song.map_steps import MapSteps
from app.window.song.song_again import SongAgain
from app.window.song.song_cursor import SongCursor
from app.window.song.song_labels import SongLabels
from app.window.song.song_table import LETTER, NAME, SongTable
from app.window.song.song_taps import SongTaps

SECTIONS, GO_TO, ZOOM = "&Sections", "&Go To", "&Zoom"
EDGES = (
    ("Shift", "a Bar", "move the start of the selected section by a bar", Snap.BAR),
    ("Ctrl+Shift", "a Beat", "move it by a beat", Snap.BEAT),
    ("Alt+Shift", "5 ms", "move it by 5 ms", Snap.FREE),
)
"""What is held with an arrow, and by how much that moves the start of the selected section."""
SECTION_BUTTONS = ("split", "join", "rename", "again")
MAP_MENU = (
    ("bar", "bar on", "bar 1"),
    tuple(f"metre {beats}" for beats in METRES),
    ("add", "move", "remove"),
    ("half on", "double on", "off beat", "earlier", "later"),
    ("split", "split beat", "join", "letter", "letters"),
    ("again",),
    ("read labels", "write labels"),
)
"""The menu in the map and behind the button More, in groups."""


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

    def cancel() -> None:
        if again.stop():
            steps.message.emit("Stopped. The map has not changed.")
        elif taps.forget():
            steps.message.emit("Taps discarded.")
        else:
            steps.message.emit("")

    return (
        Line(
            "beat by beat",
            Action("Previous Beat", "Left", "Back one beat", partial(cursor.step, Snap.BEAT, -1), menu=GO_TO),
            Action("Next Beat", "Right", "Forward one beat", partial(cursor.step, Snap.BEAT, 1), menu=GO_TO),
        ),
        Line(
            "bar by bar",
            Action(
                "Previous Bar", "Ctrl+Left", "Back one bar", partial(cursor.step, Snap.BAR, -1), menu=GO_TO
            ),
            Action(
                "Next Bar", "Ctrl+Right", "Forward one bar", partial(cursor.step, Snap.BAR, 1), menu=GO_TO
            ),
        ),
        Line(
            "section by section; the section you reach is selected",
            Action(
                "Previous Section",
                "PgUp",
                "Go to the previous section",
                partial(cursor.step_section, -1),
                menu=GO_TO,
            ),
            Action(
                "Next Section",
                "PgDown",
                "Go to the next section",
                partial(cursor.step_section, 1),
                menu=GO_TO,
            ),
        ),
        Line(
            "start and end of the song",
            Action(
                "Start of Song", "Home", "Go to the start of the song", partial(cursor.go_to, 0.0), menu=GO_TO
            ),
            Action(
                "End of Song",
                "End",
                "Go to the end of the song",
                lambda: cursor.go_to(cursor.end_s),
                menu=GO_TO,
            ),
        ),
        Line(
            "zoom in, zoom out, the whole song",
            Action("Zoom In", "+", "Zoom in", partial(canvas.zoom_by, 1), menu=ZOOM),
            Action("Zoom Out", "-", "Zoom out", partial(canvas.zoom_by, -1), menu=ZOOM),
            Action(
                "Whole Song",
                "0",
                "Show the whole song, or zoom in again",
                canvas.zoom_whole,
                name="whole",
                menu=ZOOM,
            ),
        ),
        Line(
            "clicks on the beats, on or off",
            Action(
                "Clicks",
                "C",
                "Turn the clicks on the beats on or off",
                clicks.toggle,
                enabled=beats,
                repeats=False,
            ),
        ),
        *beat_actions(steps, taps),
        Line(
            "start a new section at this bar line",
            Action(
                "Split Here",
                "S",
                "Start a new section at this bar line",
                partial(steps.split, Snap.BAR),
                name="split",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "start a new section at this beat",
            Action(
                "Split at Beat",
                "Shift+S",
                "Start a new section at this beat",
                partial(steps.split, Snap.BEAT),
                name="split beat",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "join the selected section to the one before",
            Action(
                "Join",
                "J",
                "Join the selected section to the one before",
                steps.join,
                name="join",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "rename the selected section",
            Action(
                "Rename",
                "F2",
                "Rename the selected section",
                partial(table.type_into, NAME),
                name="rename",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "change the letter of the selected section",
            Action(
                "Change Letter",
                "L",
                "Change the letter of the selected section",
                partial(table.type_into, LETTER),
                name="letter",
                menu=SECTIONS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "letter all sections A, B, C, … in order",
            Action(
                "Letters in Order",
                "Shift+L",
                "Letter all sections A, B, C, … in order",
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
                        f"Start {how} {way}",
                        f"{held}+{key}",
                        f"Start the selected section {how} {way.lower()}",
                        partial(steps.step_edge, snap, by, NUDGE_S),
                        menu=SECTIONS,
                    )
                    for key, way, by in (("Left", "Earlier", -1), ("Right", "Later", 1))
                ),
            )
            for held, how, text, snap in EDGES
        ),
        Line(
            "export the map as labels, which audio editors read",
            Action(
                "Export Labels…",
                "Ctrl+L",
                "Export beats, bars and sections as a label file, which audio editors read",
                labels.write,
                name="write labels",
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "import a label file",
            Action(
                "Import Labels…",
                "Ctrl+Shift+L",
                "Import beats, bars and sections from a label file",
                labels.read,
                name="read labels",
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "detect again from here; what you fixed stays",
            Action(
                "Detect Again From Here",
                "G",
                "Detect beats, bars and sections again from this bar on; what you fixed stays",
                again.from_here,
                name="again",
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "stop detecting, or discard the taps",
            Action("Cancel", "Escape", "Stop detecting, or discard the taps", cancel, name="cancel"),
        ),
    )
