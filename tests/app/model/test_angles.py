"""Angle names guessed from paths: names as they come off cards, and names as people give them."""

from pathlib import PurePath

import pytest

from app.model.angles import guess_angle, root_of, same_name


def name_of(path: str) -> str | None:
    guess = guess_angle(path)
    return None if guess is None else guess.name


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
        ("/shoot/AccordionHands.mov", "AccordionHands"),
        ("/shoot/McKay_02.mov", "McKay"),
        ("/shoot/deCarlo/C0001.mov", "deCarlo"),
        ("/shoot/Schlagzeug_Übersicht_3.mov", "Schlagzeug Übersicht"),
        ("/shoot/U\u0308bersicht.mov", "Übersicht"),
        ("/evening/take 2.mov", "Evening"),
        ("/shoot/cam2_take3.mov", "Cam2"),
        ("/shoot/Kamera 1 (2).mov", "Kamera 1"),
        ("/shoot/camA_0012.mov", "camA"),
        ("/shoot/Cam 2/C0001.MP4", "Cam 2"),
        ("/shoot/fiddle 2026-04-11 low.mov", "Fiddle low"),
        ("/shoot/bass run.mov", "Bass run"),
        ("/shoot/bass run 2.mov", "Bass"),
        ("/shoot/ドラム_01.mov", "ドラム"),
    ],
)
def test_words_in_the_name_speak(path: str, name: str) -> None:
    assert name_of(path) == name


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
    assert name_of(f"{folder}/{stem}.MP4") == "Singer"


@pytest.mark.parametrize("path", ["/DCIM/100MSDCF/C0012.MP4", "C0012.MP4", "", "/A001/A001C001.MOV"])
def test_where_nothing_speaks_there_is_no_guess(path: str) -> None:
    assert guess_angle(path) is None


# Series of counters as such: letters in capitals and four figures or more.
@pytest.mark.parametrize(
    "stem", ["QXRT0041", "ZK_00412", "ABX-20417", "GX010023", "IMG_0007 2", "VID-20261130-WA0003"]
)
def test_counters_nobody_listed_are_counters_all_the_same(stem: str) -> None:
    assert guess_angle(f"/evening/{stem}.MP4", PurePath("/evening")) is None


@pytest.mark.parametrize(
    "folder", ["A001", "B002_0ABC", "DCIM/100", "phones", "card 2", "Footage", "Day 2", "CARD_A", "b"]
)
def test_folders_about_the_material_say_nothing(folder: str) -> None:
    assert guess_angle(f"/evening/{folder}/C0012.MP4", PurePath("/evening")) is None


@pytest.mark.parametrize("root", ["/evening/Harbour waltz", "/evening/Harbour waltz/clips"])
def test_the_dropped_folder_and_those_above_never_name_an_angle(root: str) -> None:
    assert guess_angle(f"{root}/DCIM/100/C0012.MP4", PurePath(root)) is None
    found = guess_angle(f"{root}/Singer/C0012.MP4", PurePath(root))
    assert found is not None
    assert found.name == "Singer"
    found = guess_angle(f"{root}/singer_02.MP4", PurePath(root))
    assert found is not None
    assert found.name == "Singer"


@pytest.mark.parametrize(
    ("dropped", "root"),
    [
        (["/a/b"], "/a/b"),
        (["/a/b/c/x.mov"], "/a/b/c"),
        (["/a", "/a/b/c"], "/a/b/c"),
        (["/other"], "/a/b/c"),
        (["/a/b/../b"], "/a/b"),
    ],
)
def test_names_speak_below_what_was_dropped(dropped: list[str], root: str) -> None:
    assert root_of("/a/b/c/x.mov", dropped) == PurePath(root)


@pytest.mark.parametrize(
    "name", ["Safety wide", "wide", "the whole band", "Total links", "A Totale", "master shot"]
)
def test_names_of_safeties_are_taken_for_such(name: str) -> None:
    guess = guess_angle(f"/shoot/{name}.mov")
    assert guess is not None
    assert guess.safety


@pytest.mark.parametrize("name", ["fiddle", "totally close", "widener", "master"])
def test_other_names_are_not(name: str) -> None:
    guess = guess_angle(f"/shoot/{name}.mov")
    assert guess is not None
    assert not guess.safety


def test_names_are_one_whatever_case_spaces_and_accents() -> None:
    assert same_name("Übersicht  links", "u\u0308bersicht links")
    assert not same_name("Fiddle", "Fiddle 2")
