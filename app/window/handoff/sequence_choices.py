"""What string-outs and first passes are to show, as lists to choose from."""

from collections.abc import Callable, Sequence

from app.handoff.choices import FirstPassWish, StringOutWish
from app.model.coverage.subjects import known_subjects
from app.model.document.cut import Setting
from app.model.first_pass.rules import PACE
from app.model.on_song import SongView
from app.model.string_out.string_out import About, Order
from app.window.parts.drop_down import DropDown

ABOUTS = (
    (About.SECTION, "Everything"),
    (About.KEEPERS, "Keepers only"),
    (About.NEEDS, "Where needs are not met"),
)
ORDERS = (
    (Order.KEEPERS, "Keepers first"),
    (Order.RANK, "By rank"),
    (Order.SONG, "As they begin in the song"),
)
PACES = (
    ("", "As its rules say"),
    ("energy", "By the song's energy"),
    ("slow", "Slow"),
    ("medium", "Medium"),
    ("fast", "Fast"),
    ("1", "1 bar"),
    ("2", "2 bars"),
    ("4", "4 bars"),
    ("8", "8 bars"),
)
"""Lengths of shots, as the rules call them and as they are offered."""
USUAL_RULES = "Usual rules"


class SequenceChoices:
    """Four lists. What was chosen once stays offered, even where the shoot at hand does not have it."""

    def __init__(self, add: Callable[[str, str, Sequence[str]], DropDown]) -> None:
        """``add`` makes a list of its label, its tip and its entries, and puts it where it belongs."""
        self.about = add(
            "String-out of (&3)",
            "What the string-out shows: everything, one subject, keepers, or all there is where a need is "
            "not met",
            [],
        )
        self.order = add(
            "String-out order (&4)",
            "Which angle of a section comes first; safeties are always last",
            [text for _, text in ORDERS],
        )
        self.version = add("First pass by (&5)", "Whose rules the first pass is cut by", [])
        self.pace = add(
            "Length of shots (&6)",
            "How long the shots of the first pass are; overrules the pace of its rules",
            [text for _, text in PACES],
        )
        self._abouts: list[tuple[About, str]] = []
        self._versions: list[str] = []
        self._shoot = SongView()
        self._offer(StringOutWish(), FirstPassWish())

    @property
    def string_out(self) -> StringOutWish:
        """What the string-out is to show."""
        about, subject = self._abouts[self.about.currentIndex()]
        return StringOutWish(about=about, subject=subject, order=ORDERS[self.order.currentIndex()][0])

    @property
    def first_pass(self) -> FirstPassWish:
        """By which rules the first pass is to be cut."""
        pace = PACES[self.pace.currentIndex()][0]
        settings = (Setting(PACE, pace),) if pace else ()
        return FirstPassWish(version=self._versions[self.version.currentIndex()], settings=settings)

    def show(self, string_out: StringOutWish, first_pass: FirstPassWish) -> None:
        """Show wishes."""
        self._offer(string_out, first_pass)

    def show_shoot(self, shoot: SongView) -> None:
        """Offer what this shoot has: its subjects, its versions."""
        wishes = self.string_out, self.first_pass
        self._shoot = shoot
        self._offer(*wishes)

    def _offer(self, string_out: StringOutWish, first_pass: FirstPassWish) -> None:
        """Fill the lists, and choose in them."""
        subjects = list(known_subjects(self._shoot.angles, tuple(n.subject for n in self._shoot.plan.needs)))
        if string_out.about is About.SUBJECT and string_out.subject not in subjects:
            subjects.append(string_out.subject)
        self._abouts = [(about, "") for about, _ in ABOUTS] + [(About.SUBJECT, one) for one in subjects]
        _fill(self.about, [*(text for _, text in ABOUTS), *(f"Only {one}" for one in subjects)])
        wish = (string_out.about, string_out.subject if string_out.about is About.SUBJECT else "")
        self.about.setCurrentIndex(self._abouts.index(wish))
        self.order.setCurrentIndex([order for order, _ in ORDERS].index(string_out.order))
        names = [version.name for version in self._shoot.cut.versions]
        # The shoot's first version needs no name: it is what there is unless another is asked for.
        self._versions = ["", *names[1:]]
        if first_pass.version not in self._versions and first_pass.version not in names[:1]:
            self._versions.append(first_pass.version)
        _fill(self.version, [names[0] if names else USUAL_RULES, *self._versions[1:]])
        version = first_pass.version if first_pass.version in self._versions else ""
        self.version.setCurrentIndex(self._versions.index(version))
        pace = next((one.value for one in first_pass.settings if one.name == PACE), "")
        paces = [value for value, _ in PACES]
        self.pace.setCurrentIndex(paces.index(pace) if pace in paces else 0)


def _fill(field: DropDown, entries: list[str]) -> None:
    if [field.itemText(n) for n in range(field.count())] != entries:
        field.clear()
        field.addItems(entries)
