"""The table of what can be done in Hand-off."""

from collections.abc import Callable, Sequence

from app.window.parts.actions import Action, Line


def handoff_actions(
    choose_folder: Callable[[], None],
    write: Callable[[], None],
    stop: Callable[[], None],
    show_folder: Callable[[], None],
) -> Sequence[Line]:
    """Where to write, and the writing; the place says which of these can be done now."""
    return (
        Line(
            "choose the folder",
            Action(
                "Choose Folder…", "Ctrl+L", "Choose the folder to write into", choose_folder, name="choose"
            ),
        ),
        Line(
            "write",
            Action(
                "Write Hand-off", "Ctrl+Return", "Write the ticked files into the folder", write, name="write"
            ),
        ),
        Line(
            "stop writing",
            Action(
                "Stop Writing",
                "Ctrl+Shift+T",
                "Stop; finished files stay, unfinished ones are removed",
                stop,
                name="stop",
            ),
        ),
        Line(
            "open the folder of the hand-off",
            Action(
                "Open Folder",
                "Ctrl+Shift+L",
                "Show the written files in the file manager",
                show_folder,
                name="show",
            ),
        ),
        Line("a choice, by its underlined letter", keys=("Alt+letter",)),
    )
