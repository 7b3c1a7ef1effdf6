"""How long things take on set, and what a cut needs on either side."""

from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFormLayout, QLabel, QSpinBox, QWidget

from app.model.document.plan import Plan

HANDLES = (
    "Handles are spare frames before and after a passage, so that a cut can still be moved. A take counts "
    "for a bar only if it has them there."
)


class CostsWindow(QDialog):
    """Three numbers."""

    def __init__(self, plan: Plan, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Pre-roll and Handles")
        form = QFormLayout(self)
        self.lead_in = _number(round(plan.lead_in_s), 120, " s", "Playback before the passage starts")
        self.reset = _number(
            round(plan.reset_s), 3600, " s", "From the end of one run-through to the start of the next"
        )
        self.handle = _number(plan.handle_frames, 250, " frames", "Frames a cut needs on either side")
        form.addRow("&Pre-roll before a pick-up", self.lead_in)
        form.addRow("&Reset between run-throughs", self.reset)
        form.addRow("&Handle at each side of a cut", self.handle)
        told = QLabel(HANDLES)
        told.setWordWrap(True)
        form.addRow(told)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        form.addRow(buttons)


def _number(value: int, most: int, unit: str, tip: str) -> QSpinBox:
    box = QSpinBox()
    box.setRange(0, most)
    box.setSuffix(unit)
    box.setValue(value)
    box.setToolTip(tip)
    box.setAccessibleName(tip)
    return box
