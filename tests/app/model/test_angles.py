"""Angle names guessed from paths: names as they come off cards, and names as people give them."""

import pytest

from app.model.angles import guess_angle, same_name


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("/shoot/fiddle_02.mov", "Fiddle"),
        ("/shoot/Safety wide.mp4", "Safety wide"),
        ("/shoot/fiddle take 2.mov", "Fiddle"),
        ("/shoot/fiddle_t2.mov", "Fiddle"),
        ("/shoot/fiddle-T02.mov", "Fiddle"),
        ("/shoot/fiddle (1).mov", "Fiddle"),
        ("/shoot/fiddle_pick-up.mov", "Fiddle"),
        ("/shoot/fiddle_pickup3.mov", "Fiddle"),
        ("/shoot/fiddle_restart.mov", "Fiddle"),
        ("/shoot/Fiddle02.mov", "Fiddle"),
        ("/shoot/singer.close.mov", "Singer close"),
        ("/shoot/AccordionHands.mov", "Accordion Hands"),
        ("/shoot/Schlagzeug_Übersicht_3.mov", "Schlagzeug Übersicht"),
        ("/shoot/U\u0308bersicht.mov", "Übersicht"),
        ("/shoot/take 2.mov", "Shoot"),
        ("/shoot/cam2_take3.mov", "Cam 2"),
        ("/shoot/Kamera 1 (2).mov", "Kamera 1"),
        ("/shoot/camA_0012.mov", "Cam A"),
        ("/shoot/Cam 2/C0001.MP4", "Cam 2"),
        ("/shoot/fiddle 2026-04-11 low.mov", "Fiddle low"),
        ("/shoot/bass run.mov", "Bass run"),
        ("/shoot/bass run 2.mov", "Bass"),
        ("/shoot/ドラム_01.mov", "ドラム"),
    ],
)
def test_words_in_the_name_speak(path: str, name: str) -> None:
    assert guess_angle(path).name == name


# Counters as cameras, telephones and recorders write them: common practice; the file names of DCF
# (JEITA CP-3461) are four characters and four figures.
@pytest.mark.parametrize(
    "stem",
    [
        "C0012",
        "IMG_1234",
        "MVI_0001",
        "DSC01234",
        "DSC_0042",
        "_DSC0042",
        "GX010023",
        "GH010023",
        "00012",
        "P1000123",
        "MAH00012",
        "VID_20260411_201530",
        "20260411_201530",
        "PXL_20260411_201530123",
        "A001C003_260411_R2AB",
        "STE-001",
        "ZOOM0004",
        "DJI_0007",
        "100_0012",
        "IMG_1234(1)",
    ],
)
@pytest.mark.parametrize(
    "folder",
    [
        "/shoot/singer",
        "/shoot/Singer/DCIM/100MSDCF",
        "/shoot/singer/PRIVATE/M4ROOT/CLIP",
        "/shoot/Singer take 2/BDMV/STREAM",
    ],
)
def test_a_counter_says_nothing_and_the_folder_speaks(stem: str, folder: str) -> None:
    assert guess_angle(f"{folder}/{stem}.MP4").name == "Singer"


def test_where_nothing_speaks_the_name_stands() -> None:
    assert guess_angle("/DCIM/100MSDCF/C0012.MP4").name == "C0012"
    assert guess_angle("C0012.MP4").name == "C0012"
    assert guess_angle("").name


@pytest.mark.parametrize(
    "name", ["Safety wide", "wide", "the whole band", "Total links", "A Totale", "master shot"]
)
def test_names_of_safeties_are_taken_for_such(name: str) -> None:
    assert guess_angle(f"/shoot/{name}.mov").safety


@pytest.mark.parametrize("name", ["fiddle", "totally close", "widener", "master"])
def test_other_names_are_not(name: str) -> None:
    assert not guess_angle(f"/shoot/{name}.mov").safety


def test_names_are_one_whatever_case_spaces_and_accents() -> None:
    assert same_name("Übersicht  links", "u\u0308bersicht links")
    assert not same_name("Fiddle", "Fiddle 2")
