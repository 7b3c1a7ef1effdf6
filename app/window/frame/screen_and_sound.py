"""What the window finds of screens and sound devices: ``python -m app.window.frame.screen_and_sound``.

In a process of its own, because the toolkit ends the one that it does not like. It prints one JSON object.
"""

import json
import sys

from app.window.frame.system_libraries import window_trouble


def main() -> int:
    """Print what there is; gives the exit status."""
    trouble = window_trouble()
    if trouble:
        print(json.dumps({"trouble": trouble}))
        return 1
    from PySide6.QtMultimedia import QMediaDevices
    from PySide6.QtWidgets import QApplication

    application = QApplication(sys.argv[:1])
    screens = [
        f"{one.size().width()}x{one.size().height()}, {one.devicePixelRatio():g}, {one.refreshRate():.1f} Hz"
        for one in application.screens()
    ]
    outputs = [one.description() for one in QMediaDevices.audioOutputs()]
    told = {"platform": application.platformName(), "screens": screens, "sound outputs": outputs}
    print(json.dumps(told))
    return 0


if __name__ == "__main__":
    sys.exit(main())
