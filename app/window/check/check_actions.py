"""The table of what can be done in Check."""

from collections.abc import Sequence
from functools import partial

from app.model.check_queue import Entry
from app.model.on_song import Take
from app.window.check.check_commands import CheckCommands
from app.window.check.fit_row import MOST_PLACES
from app.window.check.queue_list import FILTER_KEY, SORT_KEY, QueueList
from app.window.parts.actions import Action, Line

NOT_THIS = "The song does not run in this take"
FRAME, QUARTER, MS = 1.0, 0.25, 0.001
GO_TO, LOOK, MOVE = "&Go To", "&Look at Place", "&Move the Take"
MOMENTS_TIP = "Start, quarters and end of the take"
BUTTONS = ("confirm", "settle", "refuse", "pins", "mark", "doubt", "watch")
"""Those with a button beside the proofs, the main one first."""
PIN_BUTTONS = ("before", "after", "bar before", "bar after")
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
        return "Back to Proofs" if pinning() and take() is not None else "Pin Frames"

    def watch_tip() -> str:
        return (
            "Frames are shown while they are pinned"
            if pinning()
            else "Moving pictures in place of the frames"
        )

    return (
        Line(
            "from take to take",
            Action("Take Before", "Up", "Go to the take before", lambda: queue.step(-1), menu=GO_TO),
            Action("Next Take", "Down", "Go to the next take", lambda: queue.step(1), menu=GO_TO),
        ),
        Line(
            "next take in doubt",
            Action(
                "Next Doubt", "D", "Go to the next take in doubt", do.next_doubt, name="doubt", menu=GO_TO
            ),
        ),
        Line(
            "list other takes",
            Action("List Other Takes", FILTER_KEY, "Which takes are listed", queue.next_filter, menu=GO_TO),
        ),
        Line(
            "sort the list again: those in doubt first, decided ones last",
            Action("Sort Takes Again", SORT_KEY, "Those in doubt first, decided ones last", queue.sort_again),
        ),
        Line(
            "look at one of the places, without deciding",
            # Keys of the rows themselves would press them a moment later, and Enter in between would decide.
            *(
                Action(
                    f"Look at Place {number}",
                    str(number),
                    "Look at one of the places without deciding",
                    partial(do.look_at_row, number - 1),
                    menu=LOOK,
                )
                for number in range(1, MOST_PLACES + 1)
            ),
        ),
        Line(
            "the take lies at the place shown; with pins: pin the frame; on a button: press it",
            Action(
                confirming,
                ("Return", "Enter"),
                "The take lies at the place shown",
                do.decide,
                name="confirm",
                enabled=lambda: take() is not None or (pinning() and entry() is not None),
                repeats=False,  # a key held too long decides nothing about the take that comes next
            ),
        ),
        Line(
            "move the take by a frame; with pins: frame by frame",
            Action(
                "Frame Back", "Left", "One frame earlier", partial(do.step, -FRAME), name="before", menu=MOVE
            ),
            Action("Frame On", "Right", "One frame later", partial(do.step, FRAME), name="after", menu=MOVE),
        ),
        Line(
            "by a quarter of a frame; with pins: second by second",
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
            "settle onto the nearest good fit",
            Action(
                "Settle Here",
                "S",
                "Move to the nearest good fit within half a second",
                do.settle,
                name="settle",
                enabled=lambda: take() is not None and not pinning(),
                repeats=False,
            ),
        ),
        Line(
            "start, quarters and end of the take; with pins: bar by bar",
            Action("Moment Before", "PgUp", MOMENTS_TIP, partial(do.step_moment, -1), menu=GO_TO),
            Action("Next Moment", "PgDown", MOMENTS_TIP, partial(do.step_moment, 1), menu=GO_TO),
        ),
        Line(
            "bar by bar; with pins: beat by beat",
            Action(
                lambda: "Beat Back" if pinning() else "Bar Before",
                "Ctrl+Left",
                "Look at the bar before",
                partial(do.step_bars, -1),
                name="bar before",
                menu=GO_TO,
            ),
            Action(
                lambda: "Beat On" if pinning() else "Next Bar",
                "Ctrl+Right",
                "Look at the next bar",
                partial(do.step_bars, 1),
                name="bar after",
                menu=GO_TO,
            ),
        ),
        Line(
            "pin frames to beats",
            Action(
                pin_words,
                "P",
                "Place it by pictures: this frame is that beat of the song",
                do.toggle_pins,
                name="pins",
                enabled=lambda: take() is not None,
            ),
        ),
        Line(
            "mark a stretch as a take of its own: from here, then to here",
            Action(
                lambda: "Mark From Here" if do.examined.mark_s is None else "Mark To Here",
                "M",
                "Mark a stretch of the clip as a take of its own",
                do.mark,
                name="mark",
                enabled=lambda: take() is not None,
            ),
        ),
        Line(
            "the song does not run in this take; of a refused one: take that back",
            Action(
                lambda: "Take Back" if refused() else "Not This Song",
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
            "leave what was begun",
            Action("Give Up", "Escape", "Leave what was begun", do.give_up),
        ),
        Line(
            "moving pictures in place of the frames",
            Action(
                "Watch",
                "W",
                watch_tip,
                do.toggle_watching,
                name="watch",
                enabled=lambda: take() is not None and not pinning(),
            ),
        ),
    )
