"""A question with several lines to fill in."""

from collections.abc import Sequence

from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFormLayout, QLabel, QLineEdit, QWidget


class FieldsWindow(QDialog):
    """A sentence, and a field below each label."""

    def __init__(
        self, title: str, question: str, fields: Sequence[tuple[str, str]], parent: QWidget | None = None
    ) -> None:
        """``fields``: label and text of each; a label has the letter of its key after an ``&``."""
        super().__init__(parent)
        self.setWindowTitle(title)
        form = QFormLayout(self)
        said = QLabel(question)
        said.setWordWrap(True)
        form.addRow(said)
        self.fields: list[QLineEdit] = []
        for label, text in fields:
            field = QLineEdit(text)
            field.setAccessibleName(label.replace("&", ""))
            field.setToolTip(label.replace("&", ""))
            form.addRow(label, field)
            self.fields.append(field)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        form.addRow(buttons)

    @property
    def texts(self) -> list[str]:
        """What is in the fields."""
        return [field.text() for field in self.fields]
