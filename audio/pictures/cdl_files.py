"""ASC CDL files: ``.cc`` (one correction), ``.ccc`` (a collection) and ``.cdl`` (a list of decisions).

Elements and namespace are those of the ASC CDL, version 1.2. Figures are written with six decimals and a
point, whatever the system's language. What is read may come from anybody: it declares nothing (entities in
XML can grow without bounds), is not nested deeply, and is not large.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from audio.pictures.cdl import Cdl, three

NAMESPACE = "urn:ASC:CDL:v1.2"
MOST_BYTES = 16_000_000
"""Some forty thousand corrections."""
_MOST_DEEP = 16
"""Levels of elements; the standard's own take six."""


@dataclass(frozen=True, slots=True)
class Correction:
    """A CDL under a name."""

    id: str
    """Unique in a file. An XML name: it begins with a letter and has no blanks."""
    cdl: Cdl
    description: str = ""
    """One line for a person."""


class NotCdl(ValueError):
    """A text that is no ASC CDL; ``str(error)`` is a sentence."""


def one_correction(correction: Correction) -> bytes:
    """A ``.cc`` file."""
    element = _correction(correction)
    element.set("xmlns", NAMESPACE)
    return _text(element)


def collection(corrections: Iterable[Correction], description: str = "") -> bytes:
    """A ``.ccc`` file."""
    root = Element("ColorCorrectionCollection", {"xmlns": NAMESPACE})
    _describe(root, description)
    root.extend(map(_correction, corrections))
    return _text(root)


def decision_list(corrections: Iterable[Correction], description: str = "") -> bytes:
    """A ``.cdl`` file."""
    root = Element("ColorDecisionList", {"xmlns": NAMESPACE})
    _describe(root, description)
    for one in corrections:
        decision = Element("ColorDecision")
        decision.append(_correction(one))
        root.append(decision)
    return _text(root)


def read(data: bytes) -> tuple[Correction, ...]:
    """The corrections of a file of any of the three kinds, of this version or an earlier one.

    What is left out is neutral. Raises NotCdl.
    """
    root = _tree(data)
    kinds = ("ColorCorrection", "ColorCorrectionCollection", "ColorDecisionList")
    if _name(root) not in kinds:
        raise NotCdl("The file is no ASC CDL: it begins with another element. Choose another file.")
    return tuple(_read_one(element) for element in root.iter() if _name(element) == kinds[0])


def description(data: bytes) -> str:
    """What a collection or list says of itself as a whole; empty where it says nothing. Raises NotCdl."""
    return _said(_tree(data))


def _correction(one: Correction) -> Element:
    element = Element("ColorCorrection", {"id": one.id})
    _describe(element, one.description)
    sop = Element("SOPNode")
    for name, figures in (("Slope", one.cdl.slope), ("Offset", one.cdl.offset), ("Power", one.cdl.power)):
        _put(sop, name, figures)
    sat = Element("SatNode")
    _put(sat, "Saturation", (one.cdl.saturation,))
    element.extend((sop, sat))
    return element


def _put(parent: Element, name: str, figures: Sequence[float]) -> None:
    element = Element(name)
    element.text = " ".join(f"{figure:.6f}" for figure in figures)
    parent.append(element)


def _describe(parent: Element, text: str) -> None:
    if text:
        element = Element("Description")
        # XML has no place for control characters, escaped or not (XML 1.0, 2.2).
        element.text = "".join(c if c.isprintable() else " " for c in text)
        parent.append(element)


def _text(root: Element) -> bytes:
    ElementTree.indent(root)
    text: str = ElementTree.tostring(root, "unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _read_one(element: Element) -> Correction:
    figures: dict[str, tuple[float, ...]] = {}
    for child in element.iter():
        name = _name(child)
        if name in ("Slope", "Offset", "Power", "Saturation"):
            try:
                figures[name] = tuple(map(float, (child.text or "").split()))
            except ValueError:
                raise NotCdl(f"The figures of {name} cannot be read: {(child.text or '')[:40]!r}.") from None
    try:
        (saturation,) = figures.get("Saturation", (1.0,))
        cdl = Cdl(
            three(figures.get("Slope", (1.0, 1.0, 1.0))),
            three(figures.get("Offset", (0.0, 0.0, 0.0))),
            three(figures.get("Power", (1.0, 1.0, 1.0))),
            saturation,
        )
    except ValueError as error:
        raise NotCdl(f"A correction of the file is not valid: {error}") from None
    return Correction(element.get("id", ""), cdl, _said(element))


def _said(element: Element) -> str:
    return next(
        (" ".join((child.text or "").split()) for child in element if _name(child) == "Description"), ""
    )


def _name(element: Element) -> str:
    """Without its namespace: versions differ in that alone."""
    return str(element.tag).rpartition("}")[2].replace("SATNode", "SatNode")


def _tree(data: bytes) -> Element:
    """The elements of a file. Raises NotCdl."""
    if len(data) > MOST_BYTES:
        raise NotCdl("The file is far too large for an ASC CDL. Choose another.")
    builder, parser = TreeBuilder(), expat.ParserCreate(namespace_separator="}")
    deep = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal deep
        deep += 1
        if deep > _MOST_DEEP:
            raise NotCdl("The file is no ASC CDL: its elements are nested too deeply.")
        builder.start(name, attributes)

    def end(name: str) -> None:
        nonlocal deep
        deep -= 1
        builder.end(name)

    def refuse(*_: object) -> None:
        raise NotCdl("The file is no plain ASC CDL: it declares a document type. Choose another file.")

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = builder.data
    parser.StartDoctypeDeclHandler = refuse
    try:
        parser.Parse(data, True)
        return builder.close()
    except expat.ExpatError as error:
        raise NotCdl(f"The file cannot be read as XML: {error}.") from None
