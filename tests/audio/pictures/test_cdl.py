"""ASC CDL arithmetic and files against OpenColorIO, an independent implementation."""

from pathlib import Path

import numpy as np
import PyOpenColorIO as ocio
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audio.pictures.cdl import NEUTRAL, Cdl
from audio.pictures.cdl_files import (
    NAMESPACE,
    Correction,
    NotCdl,
    collection,
    decision_list,
    description,
    one_correction,
    read,
)

WORKED = Cdl((0.9, 1.2, 0.5), (0.4, -0.5, 0.6), (1.0, 0.8, 1.5), 0.85)


def tenths(low: float, high: float) -> st.SearchStrategy[float]:
    """Figures as files hold them: with six decimals."""
    return st.integers(round(low * 1e6), round(high * 1e6)).map(lambda whole: whole / 1e6)


def threes(low: float, high: float) -> st.SearchStrategy[tuple[float, float, float]]:
    return st.tuples(*[tenths(low, high)] * 3)


CDLS = st.builds(Cdl, threes(0, 4), threes(-1, 1), threes(0.1, 4), tenths(0, 3))


def by_ocio(cdl: Cdl, rgb: np.ndarray) -> np.ndarray:
    transform = ocio.CDLTransform()
    transform.setSlope(cdl.slope)
    transform.setOffset(cdl.offset)
    transform.setPower(cdl.power)
    transform.setSat(cdl.saturation)
    transform.setStyle(ocio.CDL_ASC)
    processor = ocio.Config.CreateRaw().getProcessor(transform).getDefaultCPUProcessor()
    out = np.ascontiguousarray(rgb, np.float32)
    processor.applyRGB(out)
    return out


def test_the_worked_example() -> None:
    # Evaluated by hand from the standard's formula, and by OpenColorIO.
    told = [0.775096, 0.187312, 0.718708]
    assert WORKED.applied(np.full(3, 0.5)).round(6).tolist() == told
    # In single precision, with its fast powers.
    np.testing.assert_allclose(by_ocio(WORKED, np.full((1, 3), 0.5))[0], told, atol=1e-4)


@settings(max_examples=60)
@given(CDLS, st.integers(0, 2**32 - 1))
def test_pictures_come_out_as_from_another_implementation(cdl: Cdl, seed: int) -> None:
    rgb = np.random.default_rng(seed).random((50, 3))
    # OpenColorIO computes powers in single precision, by a fast approximation.
    np.testing.assert_allclose(cdl.applied(rgb), by_ocio(cdl, rgb), atol=2e-3)


@settings(max_examples=60)
@given(CDLS, st.integers(0, 2**32 - 1))
def test_eight_bits_come_out_as_exact_figures_rounded(cdl: Cdl, seed: int) -> None:
    rgb = np.random.default_rng(seed).integers(0, 256, (6, 5, 3), np.uint8)
    exact = 255 * cdl.applied(rgb / 255)
    assert np.abs(cdl.applied_to_bytes(rgb) - exact).max() <= 0.5 + 1e-3


def test_the_neutral_one_changes_nothing() -> None:
    rgb = np.arange(256, dtype=np.uint8).repeat(3).reshape(16, 16, 3)
    assert (NEUTRAL.applied_to_bytes(rgb) == rgb).all()


@settings(max_examples=40)
@given(st.lists(st.tuples(CDLS, st.text(max_size=20)), min_size=1, max_size=4))
def test_all_three_kinds_of_file_read_back(some: list[tuple[Cdl, str]]) -> None:
    corrections = tuple(Correction(f"take-{n}", cdl, text) for n, (cdl, text) in enumerate(some))
    for data in (collection(corrections), decision_list(corrections)):
        again = read(data)
        assert [(one.id, one.cdl) for one in again] == [(one.id, one.cdl) for one in corrections]
    assert read(one_correction(corrections[0]))[0].cdl == corrections[0].cdl


@pytest.mark.parametrize(("suffix", "write"), [("ccc", collection), ("cdl", decision_list)])
def test_files_are_read_by_another_implementation(tmp_path: Path, suffix: str, write: object) -> None:
    assert callable(write)
    corrections = [Correction("take-1", WORKED, "wide < close & äöü"), Correction("take-2", NEUTRAL)]
    path = tmp_path / f"some.{suffix}"
    path.write_bytes(write(corrections, "A shoot"))
    for one in corrections:
        found = ocio.CDLTransform.CreateFromFile(str(path), one.id)
        assert found.getSlope() == pytest.approx(one.cdl.slope)
        assert found.getOffset() == pytest.approx(one.cdl.offset)
        assert found.getPower() == pytest.approx(one.cdl.power)
        assert found.getSat() == pytest.approx(one.cdl.saturation)
        assert found.getFormatMetadata().getID() == one.id
    path = tmp_path / "one.cc"
    path.write_bytes(one_correction(corrections[0]))
    assert ocio.CDLTransform.CreateFromFile(str(path), "").getSlope() == pytest.approx(WORKED.slope)


@pytest.mark.parametrize("suffix", ["ccc", "cc", "cdl"])
def test_files_of_another_implementation_are_read(tmp_path: Path, suffix: str) -> None:
    transform = ocio.CDLTransform()
    transform.setSlope(WORKED.slope)
    transform.setOffset(WORKED.offset)
    transform.setPower(WORKED.power)
    transform.setSat(WORKED.saturation)
    transform.getFormatMetadata().setID("grade-7")
    group = ocio.GroupTransform([transform])
    text = group.write(
        {"cc": "ColorCorrection", "ccc": "ColorCorrectionCollection", "cdl": "ColorDecisionList"}[suffix],
        ocio.Config.CreateRaw(),
    )
    (found,) = read(text.encode())
    assert found.id == "grade-7"
    assert found.cdl == WORKED


def test_names_and_older_versions() -> None:
    text = collection([Correction("take-1", WORKED, "two\nlines\x00")], "All of it").decode()
    assert f'<ColorCorrectionCollection xmlns="{NAMESPACE}">' in text
    assert "<SatNode>" in text
    assert description(text.encode()) == "All of it"
    assert read(text.encode())[0].description == "two lines"
    older = text.replace("v1.2", "v1.01").replace("SatNode", "SATNode")
    assert read(older.encode())[0].cdl == WORKED


def test_what_is_left_out_is_neutral() -> None:
    assert read(b'<ColorCorrection id="a"/>') == (Correction("a", NEUTRAL),)


BOMB = b"""<!DOCTYPE a [<!ENTITY b "bbbbbbbb"><!ENTITY c "&b;&b;&b;&b;">]>
<ColorCorrection id="a"><Description>&c;</Description></ColorCorrection>"""


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (BOMB, "document type"),
        (b"<a>" * 50, "nested too deeply"),
        (b"<Timeline/>", "another element"),
        (b"no XML", "cannot be read as XML"),
        (b"", "cannot be read as XML"),
        (b'<ColorCorrection id="a"><SOPNode><Slope>1,2 1 1</Slope></SOPNode></ColorCorrection>', "1,2 1 1"),
        (b'<ColorCorrection id="a"><SOPNode><Slope>1 1</Slope></SOPNode></ColorCorrection>', "not valid"),
        (b'<ColorCorrection id="a"><SOPNode><Slope>1 1 nan</Slope></SOPNode></ColorCorrection>', "finite"),
        (b'<ColorCorrection id="a"><SOPNode><Power>0 1 1</Power></SOPNode></ColorCorrection>', "more than 0"),
    ],
)
def test_what_is_no_cdl_is_told(data: bytes, why: str) -> None:
    with pytest.raises(NotCdl, match=why):
        read(data)
