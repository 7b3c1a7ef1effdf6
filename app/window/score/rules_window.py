"""The rules of the first pass, each a sentence and how much it counts, and its versions."""

from collections.abc import Callable, Sequence
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.model.document.change import Change
from app.model.first_pass.rules import BY_NAME, PACE, RULES, Kind, Rule, Rules
from app.model.song_map.bar_spans import section_words, song_sections
from app.window.parts import theme as looks
from app.window.parts.buttons import close_button
from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.score.rule_words import COLUMNS, choices_of, sentence_of
from app.window.score.version_steps import VersionSteps

AS_THE_SONG = "", "As in the rest"
OWN = " (has its own)"
MOST_SEED = 999


class RulesWindow(QDialog):
    """Stays open beside the score: what is changed here is cut at once, and can be undone like all else."""

    def __init__(self, theme: Theme, steps: VersionSteps, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._steps = theme, steps
        self._filling = False
        self.buttons: dict[str, QPushButton] = {}
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("First Pass Rules")
        self.setAccessibleName("Rules of the first pass")
        em = round(theme.em())
        box = QVBoxLayout(self)
        box.setSpacing(em // 3)
        self.versions = self._list("Version", "Which version of the first pass is shown in Score")
        self.versions.activated.connect(self._on_version)
        self.seed = self._number(MOST_SEED)
        self.seed.setAccessibleName("Variation")
        self.seed.setToolTip("Another number gives another cut by the same rules")
        self.seed.valueChanged.connect(self._on_seed)
        box.addLayout(self._head(em))
        box.addLayout(
            self._buttons(
                ("A&nother Version", "Keep this version, and cut the next variation", steps.another),
                ("Ne&w…", "Keep these rules under another name", steps.new),
                ("Re&name…", "Give this version another name", steps.rename),
                ("Re&move", "Remove this version (Ctrl+Z in the main window brings it back)", steps.remove),
            )
        )
        self.fields: dict[str, DropDown | QSpinBox] = {}
        page = QWidget()
        columns = QHBoxLayout(page)
        columns.setContentsMargins(0, 0, em // 2, 0)
        columns.setSpacing(2 * em)
        for groups in COLUMNS:
            columns.addLayout(self._column(groups, em), 1)
        scroll = QScrollArea()
        scroll.setWidget(page)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        box.addWidget(scroll, 1)
        self.said = TextLabel(theme, size=looks.SMALL, role="dim")
        box.addWidget(self.said)
        foot = self._buttons(
            ("Reset to &Defaults", "Every rule counts as it does at first", steps.reset),
            ("&Import…", "Read rules from a JSON file", steps.read),
            ("&Export…", "Write these rules to a JSON file, for another shoot or for --rules", steps.write),
        )
        foot.addWidget(close_button(self))
        box.addLayout(foot)
        steps.said.connect(self.said.setText)
        steps.chosen.connect(self.show_rules)
        steps.session.changed.connect(self._on_session_changed)
        self._fit(em)
        self.show_rules()

    def show_rules(self) -> None:
        """Show the version at hand."""
        self._filling = True
        steps = self._steps
        names = [one.name for one in steps.versions] or ["Usual rules"]
        self.versions.clear()
        self.versions.addItems(names)
        version, rules = steps.version, steps.rules
        self.versions.setCurrentIndex(0 if version is None else steps.versions.index(version))
        self.seed.setValue(0 if version is None else version.seed)
        for rule in RULES:
            self._show_rule(self.fields[rule.name], rule, rules.value(rule.name))
        self._show_sections(rules)
        for button in (self.buttons["Rename…"], self.buttons["Remove"]):
            button.setEnabled(version is not None)
        self._filling = False

    def _fit(self, em: int) -> None:
        """As large as all rules need, as far as the screen has room."""
        room = self.screen().availableSize()
        self.resize(min(em * 84, room.width() - 2 * em), min(em * 40, room.height() - 4 * em))

    def _head(self, em: int) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(em // 2)
        for text, field, stretch in (("&Version", self.versions, 1), ("Variati&on", self.seed, 0)):
            label = TextLabel(self._theme, text, role="dim", wrap=False)
            label.setBuddy(field)
            row.addWidget(label)
            row.addWidget(field, stretch)
        return row

    def _buttons(self, *rows: tuple[str, str, Callable[[], None]]) -> QHBoxLayout:
        line = QHBoxLayout()
        for text, tip, run in rows:
            button = QPushButton(text)
            key = text[text.index("&") + 1].upper()
            button.setToolTip(f"{tip} (Alt+{key})")
            button.setAccessibleName(text.replace("&", ""))
            button.setAutoDefault(False)
            button.clicked.connect(run)
            line.addWidget(button)
            self.buttons[text.replace("&", "")] = button
        line.addStretch(1)
        return line

    def _column(self, groups: Sequence[tuple[str, Sequence[str]]], em: int) -> QGridLayout:
        grid = QGridLayout()
        grid.setVerticalSpacing(max(2, em // 6))
        grid.setHorizontalSpacing(em)
        grid.setColumnStretch(0, 1)
        for heading, names in groups:
            if grid.count():
                grid.setRowMinimumHeight(grid.rowCount(), em // 2)
            grid.addWidget(TextLabel(self._theme, heading, bold=True), grid.rowCount(), 0, 1, 2)
            for name in names:
                field, row = self._rule_field(BY_NAME[name]), grid.rowCount()
                grid.addWidget(TextLabel(self._theme, sentence_of(BY_NAME[name])), row, 0)
                grid.addWidget(field, row, 1)
                if name == PACE:
                    self.section, self.section_pace = self._section_fields()
                    grid.addWidget(self.section, row + 1, 0, Qt.AlignmentFlag.AlignRight)
                    grid.addWidget(self.section_pace, row + 1, 1)
        grid.setRowStretch(grid.rowCount(), 1)
        return grid

    def _rule_field(self, rule: Rule) -> DropDown | QSpinBox:
        field: DropDown | QSpinBox
        if rule.kind is Kind.COUNT:
            field = self._number(rule.most)
            field.valueChanged.connect(lambda value, rule=rule: self._change(rule.name, str(value)))
        else:
            field = self._list(sentence_of(rule), "")
            field.activated.connect(partial(self._on_chosen, rule))
        field.setAccessibleName(sentence_of(rule))
        field.setToolTip(_tip(rule))
        self.fields[rule.name] = field
        return field

    def _section_fields(self) -> tuple[DropDown, DropDown]:
        section = self._list(
            "Section with a pace of its own", "Choose a section to give it a pace of its own"
        )
        pace = self._list("Pace of this section", "How long shots are in that section")
        section.activated.connect(lambda _: self.show_rules())
        pace.activated.connect(self._on_section_pace)
        return section, pace

    def _list(self, name: str, tip: str) -> DropDown:
        made = DropDown(self._theme)
        made.setAccessibleName(name)
        made.setToolTip(tip)
        return made

    def _number(self, most: int) -> QSpinBox:
        made = QSpinBox()
        made.setRange(0, most)
        made.setMinimumHeight(self.versions.sizeHint().height())
        return made

    def _show_rule(self, field: DropDown | QSpinBox, rule: Rule, value: str) -> None:
        if isinstance(field, QSpinBox):
            field.setValue(int(value))
            return
        _fill(field, choices_of(rule, value), value)

    def _show_sections(self, rules: Rules) -> None:
        song = self._steps.session.view.song
        sections = () if song is None else song_sections(song)
        told = dict(rules.told)
        _fill(
            self.section,
            [
                (s.letter, f"In {section_words(s)}{OWN if f'{PACE} {s.letter}' in told else ''}")
                for s in sections
            ],
            self.section.currentData(),
        )
        letter = self.section.currentData()
        value = told.get(f"{PACE} {letter}", "")
        pace = BY_NAME[PACE]
        shown = choices_of(pace, value or pace.default)
        _fill(self.section_pace, [AS_THE_SONG, *shown], value)
        for field in (self.section, self.section_pace):
            field.setEnabled(bool(sections))

    def _on_chosen(self, rule: Rule, _: int) -> None:
        field = self.fields[rule.name]
        assert isinstance(field, DropDown)
        self._change(rule.name, field.currentData())

    def _on_section_pace(self) -> None:
        self._change(f"{PACE} {self.section.currentData()}", self.section_pace.currentData())

    def _change(self, name: str, value: str) -> None:
        if not self._filling:
            self._steps.set_rule(name, value)

    def _on_version(self, row: int) -> None:
        if self._steps.versions:
            self._steps.choose(self._steps.versions[row].id)

    def _on_seed(self, value: int) -> None:
        if not self._filling:
            self._steps.set_seed(value)

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if change & (Change.CUT | Change.MAP | Change.SONG):
            self.show_rules()


def _tip(rule: Rule) -> str:
    if rule.kind is Kind.WEIGHT:
        return f"How much this counts: {rule.words} Always outweighs all that is not always."
    return sentence_of(rule)


def _fill(field: DropDown, choices: Sequence[tuple[str, str]], value: str | None) -> None:
    if [(field.itemData(n), field.itemText(n)) for n in range(field.count())] != list(choices):
        field.clear()
        for one, text in choices:
            field.addItem(text, one)
    field.setCurrentIndex(max(0, field.findData(value)))
