"""The table of what can be done in Check."""

from collections.abc import Sequence
from functools import partial

from app.model.check_queue import Entry
from app.model.on_song import Take
from app.window.check.check_commands import CheckCommands
from app.window.check.fit_row import MOST_KEYS
from app.window.check.queue_list import FILTER_KEY, SORT_KEY, QueueList
from app.window.parts.actions import Action, Line
from app.window.playing.watch_slot import PICTURES

NOT_THIS = "This take is not of this song"
FRAME, QUARTER, MS = 1.0, 0.25, 0.001
GO_TO, LOOK, MOVE = "&Go To", "Pre&view Place", "&Move the Take"
MOMENTS_TIP = "Start, quarters and end of the take"
BUTTONS = ("confirm", "settle", "refuse", "pins", "mark")
"""Those with a button below the places, the main one first."""
PIN_BUTTONS = ("play clip", "before", "after", "bar before", "bar after")
"""Those with a button below the beats."""


def check_actions(do: CheckCommands, queue: QueueList) -> Sequence[Line]:
    """What can be done with the take that is examined, and how one goes from take to take."""

    def entry() -> Entry | None:
        return do.examined.entry

    def take() -> Take | None:
        found = entry()
        return None if found is None else found.take

    def pinning() -> bool:
        return do.pinning

    def refused() -> bool:
        found = entry()
        return found is not None and (found.refused is not None or found.refused_clip)

    def undecided() -> bool:
        found = entry()
        return found is not None and found.clip.decided is None

    def confirming() -> str:
        choosing = do.examined.preview is not None
        return "Pin This Frame" if pinning() else f"{'Choose' if choosing else 'Confirm'} This Place"

    def pin_words() -> str:
        return "Stop Pinning" if pinning() and take() is not None else "Pin Frames"

    def watch_tip() -> str:
        if do.comparing:
            return "Go back to the proof first (C)"
        return (
            "Single frames are shown while you pin"
            if pinning()
            else "Show moving pictures instead of single frames"
        )

    return (
        Line(
            "from take to take",
            Action("Previous Take", "Up", "Go to the previous take", partial(do.step_take, -1), menu=GO_TO),
            Action("Next Take", "Down", "Go to the next take", partial(do.step_take, 1), menu=GO_TO),
        ),
        Line(
            "next take in doubt",
            Action(
                "Next in Doubt", "D", "Go to the next take in doubt", do.next_doubt, name="doubt", menu=GO_TO
            ),
        ),
        Line(
            "choose which takes to list",
            Action("Filter Takes", FILTER_KEY, "Choose which takes to list", queue.next_filter, menu=GO_TO),
        ),
        Line(
            "sort the list again: those in doubt first, decided ones last",
            Action(
                "Sort Takes Again",
                SORT_KEY,
                "Those in doubt first, decided ones last",
                queue.sort_again,
                menu=GO_TO,
            ),
        ),
        Line(
            "preview one of the places, without deciding",
            # Keys of the rows themselves would press them a moment later, and Enter in between would decide.
            *(
                Action(
                    f"Preview Place {number}",
                    str(number),
                    "Preview one of the places without deciding",
                    partial(do.look_at_row, number - 1),
                    menu=LOOK,
                )
                for number in range(1, MOST_KEYS + 1)
            ),
        ),
        Line(
            "keep the take at the place shown; while pinning: pin the frame; on a button: press it",
            Action(
                confirming,
                ("Return", "Enter"),
                "Keep the take at the place shown",
                do.decide,
                name="confirm",
                enabled=lambda: take() is not None or (pinning() and entry() is not None),
                repeats=False,  # a key held too long decides nothing about the take that comes next
            ),
        ),
        Line(
            "move the take by a frame; while pinning: frame by frame",
            Action(
                "Frame Back", "Left", "One frame earlier", partial(do.step, -FRAME), name="before", menu=MOVE
            ),
            Action(
                "Frame Forward", "Right", "One frame later", partial(do.step, FRAME), name="after", menu=MOVE
            ),
        ),
        Line(
            "by a quarter of a frame; while pinning: second by second",
            Action(
                "Quarter Frame Earlier",
                "Shift+Left",
                "A quarter of a frame",
                partial(do.step, -QUARTER),
                menu=MOVE,
            ),
            Action(
                "Quarter Frame Later",
                "Shift+Right",
                "A quarter of a frame",
                partial(do.step, QUARTER),
                menu=MOVE,
            ),
        ),
        Line(
            "by a millisecond",
            Action("Millisecond Earlier", "Alt+Left", "A millisecond", partial(do.step, 0.0, -MS), menu=MOVE),
            Action("Millisecond Later", "Alt+Right", "A millisecond", partial(do.step, 0.0, MS), menu=MOVE),
        ),
        Line(
            "snap to the best fit nearby",
            Action(
                "Snap to Best Fit",
                "S",
                "Move to the best fit within half a second",
                do.settle,
                name="settle",
                enabled=lambda: take() is not None and not pinning(),
                repeats=False,
            ),
        ),
        Line(
            "start, quarters and end of the take; while pinning: bar by bar",
            Action("Previous Moment", "PgUp", MOMENTS_TIP, partial(do.step_moment, -1), menu=GO_TO),
            Action("Next Moment", "PgDown", MOMENTS_TIP, partial(do.step_moment, 1), menu=GO_TO),
        ),
        Line(
            "bar by bar; while pinning: beat by beat",
            Action(
                lambda: "Previous Beat" if pinning() else "Previous Bar",
                "Ctrl+Left",
                lambda: "Go to the previous beat" if pinning() else "Look at the previous bar",
                partial(do.step_bars, -1),
                name="bar before",
                menu=GO_TO,
            ),
            Action(
                lambda: "Next Beat" if pinning() else "Next Bar",
                "Ctrl+Right",
                lambda: "Go to the next beat" if pinning() else "Look at the next bar",
                partial(do.step_bars, 1),
                name="bar after",
                menu=GO_TO,
            ),
        ),
        Line(
            "while pinning: first and last frame of the clip",
            Action(
                "First Frame",
                "Home",
                "Go to the first frame of the clip",
                partial(do.go_to_end, last=False),
                menu=GO_TO,
                enabled=pinning,
            ),
            Action(
                "Last Frame",
                "End",
                "Go to the last frame of the clip",
                partial(do.go_to_end, last=True),
                menu=GO_TO,
                enabled=pinning,
            ),
        ),
        Line(
            "while pinning: play the clip on its own",
            Action(
                lambda: "Pause" if do.playing else "Play Clip",
                "Shift+Space",
                "Play the clip on its own from this frame",
                do.play_clip,
                name="play clip",
                enabled=pinning,
            ),
        ),
        Line(
            "pin frames to beats",
            Action(
                pin_words,
                "P",
                "Place by picture: match a frame to a beat of the song",
                do.toggle_pins,
                name="pins",
                enabled=lambda: take() is not None,
            ),
        ),
        Line(
            "mark part of the clip as a separate take: from here, then to here",
            Action(
                lambda: "Start Take Here" if do.examined.mark_s is None else "End Take Here",
                "M",
                "Mark part of the clip as a separate take",
                do.mark,
                name="mark",
                enabled=lambda: take() is not None or (pinning() and entry() is not None),
            ),
        ),
        Line(
            "mark the take as not this song, or unmark it",
            Action(
                lambda: "Unmark" if refused() else "Not This Song",
                "N",
                lambda: "It is this song after all" if refused() else NOT_THIS,
                do.refuse,
                name="refuse",
                enabled=lambda: refused() or undecided(),
                repeats=False,
            ),
        ),
        Line(
            "rename the angle of this take",
            Action(
                "Rename Angle…",
                "F2",
                "Give the angle of this take another name",
                do.rename_angle,
                enabled=lambda: entry() is not None,
            ),
        ),
        Line(
            "cancel what you started",
            Action("Cancel", "Escape", "Cancel what you started", do.give_up),
        ),
        Line(
            "show moving pictures instead of single frames",
            Action(
                "Watch",
                "W",
                watch_tip,
                do.toggle_watching,
                name="watch",
                menu=PICTURES,
                enabled=lambda: take() is not None and not pinning() and not do.comparing,
            ),
        ),
    )
