"""Which room may know which: imports are read from the source, and the rooms without Qt run without Qt."""

import ast
import subprocess
import sys
from collections import Counter
from collections.abc import Collection, Mapping
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
STANDARD = sys.stdlib_module_names
# Rooms of the project by their longest matching prefix, and what each may import besides itself and the
# standard library. "…" stands for any package from outside.
ROOMS: dict[str, tuple[str, ...]] = {
    "audio": ("numpy", "scipy", "librosa", "soxr"),
    "audio.pictures": ("audio", "numpy", "scipy"),
    "audio.filming.burnt_in": ("numpy", "PIL", "font_source_sans_pro"),
    "audio.pictures.slate_code": ("numpy", "zxingcpp"),
    "audio.pictures.code_reader": ("audio", "numpy", "zxingcpp"),
    "audio.kit.playback_sound": ("audio", "numpy", "soxr", "python_stretch"),
    "app": (),
    "app.model": (),
    "app.engine": ("app.model", "audio", "numpy"),
    "app.engine.sample": (),
    "app.handoff": ("app.model", "opentimelineio"),
    "app.handoff.all": ("app.handoff", "app.model", "audio.errors"),
    "app.handoff.registry": ("app.handoff", "app.model", "audio.errors"),
    "app.handoff.sources": ("app.handoff", "app.model", "audio"),
    "app.handoff.copied.copies": ("app.handoff", "app.model", "audio.errors"),
    "app.handoff.copied.stamped": ("app.handoff", "app.model", "audio"),
    "app.handoff.copied.stamped_sound": ("app.handoff", "app.model", "audio"),
    "app.handoff.copied.conformed": ("app.handoff", "app.model", "audio"),
    "app.handoff.filmed.film": ("app.model", "app.handoff", "app.engine.watching", "audio"),
    "app.handoff.filmed.film_sound": ("app.model", "app.handoff", "app.engine.listening", "audio", "numpy"),
    "app.handoff.tables.match_file": ("app.handoff", "app.model", "audio.pictures"),
    "app.handoff.sheets.jpeg_picture": ("app.handoff", "PIL"),
    "app.handoff.sheets.pdf_sheet": ("app.handoff", "reportlab", "font_source_sans_pro"),
    "app.handoff.sheets.pdf_letters": ("app.handoff", "reportlab", "font_source_sans_pro"),
    "app.handoff.report": (
        "app.handoff.layout",
        "app.handoff.report_looks",
        "app.handoff.report_plan",
        "app.handoff.sequences.chosen_pass",
        "app.model",
    ),
    "app.handoff.report_text": ("app.handoff.report", "app.model"),
    "app.cli": ("app.model", "app.handoff", "app.engine.tasks", "audio.errors"),
    "app.window": ("app.model", "app.handoff", "app.engine", "…"),
    "app.window.jobs": ("app.model", "app.engine", "audio", "numpy", "PySide6"),
    "app.window.session": ("app.model", "PySide6"),
    "app.__main__": ("app", "…"),
}
# Reading files is the business of these alone; everything else in audio gets arrays.
FILE_ROOMS = {
    "audio.files.codecs",
    "audio.files.colour_tags",
    "audio.files.containers",
    "audio.files.edit_lists",
    "audio.play.frame_source",
    "audio.files.media",
    "audio.files.media_tags",
    "audio.files.frame_timing",
    "audio.files.frame_images",
    "audio.filming.proof_film",
    "audio.files.frame_reader",
    "audio.files.luma_frames",
    "audio.files.key_frames",
    "audio.pictures.sampling",
    "audio.play.sound_piece",
    "audio.files.proxies",
    "audio.copies.stamping",
    "audio.play.stereo",
    "audio.files.sound_reader",
    "audio.files.sample_buffers",
    "audio.files.sound_track",
    "audio.copies.whole_sound",
    "audio.filming.tiles",
}
FILE_PACKAGES = ("av", "soundfile")


@cache
def sources() -> dict[str, Path]:
    """Dotted name to file, of every module of both packages."""
    found = {}
    for package in ("app", "audio"):
        for path in sorted((ROOT / package).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imports(source: str, module: str) -> set[str]:
    """Every name that is imported anywhere in the source, in functions and behind conditions too."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                base = ".".join([*module.split(".")[: -node.level], *filter(None, [node.module])])
            names |= {f"{base}.{alias.name}" for alias in node.names}
    return names


@cache
def imports_of(module: str) -> frozenset[str]:
    """Every name that one of our modules imports; read once."""
    return frozenset(imports(sources()[module].read_text(encoding="utf-8"), module))


def within(name: str, room: str) -> bool:
    return name == room or name.startswith(room + ".")


def room_of(module: str) -> str:
    return max((room for room in ROOMS if within(module, room)), key=len)


def wrong_imports(module: str, imported: Collection[str]) -> list[str]:
    """What a module imports and its room may not have."""
    room = room_of(module)
    allowed = (room, *ROOMS[room], *(FILE_PACKAGES if module in FILE_ROOMS else ()))
    wrong = []
    for name in sorted(imported):
        if name.partition(".")[0] in STANDARD or any(within(name, one) for one in allowed if one != "app"):
            continue
        ours = within(name, "app") or within(name, "audio")
        if "…" in allowed and (not ours or "app" in allowed):
            continue
        wrong.append(name)
    return wrong


@pytest.mark.parametrize("module", sources())
def test_no_arrow_points_back(module: str) -> None:
    wrong = wrong_imports(module, imports_of(module))
    assert not wrong, f"{module} may not import {', '.join(wrong)}"


@pytest.mark.parametrize(
    ("module", "line", "wrong"),
    [
        ("audio.placement.align", "from app.model.document import shoot", ["app.model.document.shoot"]),
        ("audio.placement.align", "def f():\n    import PySide6.QtCore", ["PySide6.QtCore"]),
        ("audio.placement.align", "import av", ["av"]),
        ("audio.files.media", "import av", []),
        ("audio.placement.align", "from ..errors import BadSignal", []),
        ("audio.placement.align", "from ...app.engine import tasks", ["app.engine.tasks"]),
        ("app.model.document.store", "import numpy", ["numpy"]),
        ("app.model.document.store", "from audio.files import media", ["audio.files.media"]),
        ("app.model.document.store", "import json, app.model.document.shoot", []),
        ("app.handoff.timeline.otio_file", "import opentimelineio as otio", []),
        ("app.handoff.timeline.otio_file", "from app.engine import tasks", ["app.engine.tasks"]),
        ("app.engine.tasks", "from PySide6 import QtCore", ["PySide6.QtCore"]),
        ("app.engine.tasks", "from app.window.jobs import Jobs", ["app.window.jobs.Jobs"]),
        ("app.engine.placing", "from app.engine.worker_pool import WorkerPool", []),
        (
            "app.engine.worker_pool",
            "from app.handoff.report_text import table",
            ["app.handoff.report_text.table"],
        ),
        (
            "audio.placement.align",
            "from app.engine.place_recording import RATE",
            ["app.engine.place_recording.RATE"],
        ),
        (
            "app.cli.place_command",
            "from app.engine.worker_pool import WorkerPool",
            ["app.engine.worker_pool.WorkerPool"],
        ),
        ("app.cli.commands", "import app.window.parts.theme", ["app.window.parts.theme"]),
        ("app.window.session", "from app.window.parts import words", ["app.window.parts.words"]),
        ("app.window.parts.theme", "import numpy, PySide6.QtGui, app.window.session", []),
        ("app.window.parts.theme", "from audio.files import media", ["audio.files.media"]),
        ("app.window.parts.theme", "from app.cli import commands", ["app.cli.commands"]),
        ("app.__main__", "import PySide6, app.window.parts.theme", []),
    ],
)
def test_the_reader_of_imports_sees_them(module: str, line: str, wrong: list[str]) -> None:
    assert wrong_imports(module, imports(line, module)) == wrong


def test_without_qt_the_engine_and_the_document_run() -> None:
    headless = [name for name in sources() if not within(name, "app.window") and name != "app.__main__"]
    assert "app.model.document.store" in headless
    assert "audio.files.media" in headless
    program = f"""
import importlib, sys, tempfile
from pathlib import Path

class NoQt:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in ("PySide6", "shiboken6"):
            raise ImportError("no Qt here")

sys.meta_path.insert(0, NoQt())
for name in {headless!r}:
    importlib.import_module(name)
try:
    import PySide6
except ImportError:
    pass
else:
    raise SystemExit("Qt could be imported after all")

from app.handoff.all import write_all
from app.handoff.report import report
from app.handoff.report_text import table
from app.model.answers import Answer
from app.model.coverage.coverage import coverage
from app.model.document import store
from app.model.document.clip import FileFacts
from app.model.document.findings import TakePlacement
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import Song, SongMap
from app.model.document.verdict import Verdict
from app.model.edits import shoot_edits
from app.model.on_song import on_song

song = Song(MediaRef("/s/waltz.wav", 1, "00"), 8.0, SongMap(90.0, (), (0.0, 2.0, 4.0, 6.0)))
shoot, _ = shoot_edits.set_song(Shoot("Waltz"), song)
clip = MediaRef("/s/fiddle_01.mov", 1, "00")
shoot, _ = shoot_edits.add_clips(shoot, [clip])
takes = (TakePlacement(1.0, 5.0, 0.0),)
found = Answer(clip, FileFacts(9.0), verdict=Verdict.PLACED, takes=takes)
shoot, _ = shoot_edits.answer_clip(shoot, found)
with tempfile.TemporaryDirectory() as folder:
    store.save(shoot, Path(folder, "waltz.anglebook"))
    shoot = on_song(store.load(Path(folder, "waltz.anglebook")))
    write_all(shoot, Path(folder, "out"))
depths = [bar.depth for section in coverage(shoot) for bar in section.bars]
print(depths, report(shoot)["report_version"], len(table(shoot)) > 99)
"""
    done = subprocess.run(
        [sys.executable, "-W", "error::ImportWarning", "-c", program],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split("\n")[0] == "[1, 1, 0, 0] 1 True"


@cache
def project_imports() -> Mapping[str, Collection[str]]:
    """For each module the modules of the project that it imports, at any level; packages' own files aside."""
    found = sources()
    graph: dict[str, set[str]] = {}
    for module in found:
        graph[module] = set()
        for name in imports_of(module):
            while name and name not in found:
                name = name.rpartition(".")[0]
            if name and name != module and found[name].name != "__init__.py":
                graph[module].add(name)
    return graph


def circles(graph: Mapping[str, Collection[str]]) -> list[list[str]]:
    """Groups of nodes of which each leads to all others of its group."""

    def reached(start: str) -> set[str]:
        seen: set[str] = set()
        ahead = list(graph.get(start, ()))
        while ahead:
            node = ahead.pop()
            if node not in seen:
                seen.add(node)
                ahead += graph.get(node, ())
        return seen

    beyond = {node: reached(node) for node in graph}
    groups = {
        frozenset(other for other in beyond[node] if node in beyond[other])
        for node in graph
        if node in beyond[node]
    }
    return sorted(sorted(group) for group in groups)


def folders_of(room: str, graph: Mapping[str, Collection[str]]) -> dict[str, set[str]]:
    """Which folder of a room uses which; what lies in the room itself is no folder."""
    depth = room.count(".") + 2

    def folder(module: str) -> str | None:
        parts = module.split(".")
        return parts[depth - 1] if within(module, room) and len(parts) > depth else None

    found: dict[str, set[str]] = {}
    for module, used in graph.items():
        mine = folder(module)
        if mine is not None:
            others = {name for one in used if (name := folder(one)) is not None}
            found.setdefault(mine, set()).update(others - {mine})
    return found


def test_no_two_files_import_each_other() -> None:
    assert circles(project_imports()) == []


@pytest.mark.parametrize("room", ["audio", "app", "app.model", "app.window", "app.handoff"])
def test_no_two_folders_of_a_room_use_each_other(room: str) -> None:
    folders = folders_of(room, project_imports())
    assert folders, "the room has folders"
    assert circles(folders) == []


def test_circles_are_seen() -> None:
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}) == [["a", "b", "c"]]
    used = {"app.model.x.one": {"app.model.y.two"}, "app.model.y.two": {"app.model.x.three", "app.model.top"}}
    assert folders_of("app.model", used) == {"x": {"y"}, "y": {"x"}}


def test_modules_have_names_of_their_own() -> None:
    """A name that two files have leads to the wrong one of them."""
    names = Counter(
        path.stem for path in sources().values() if path.name not in ("__init__.py", "__main__.py")
    )
    assert [name for name, count in names.items() if count > 1] == []


# Doors of the engine that threads of the window open by themselves: proxies, pictures, sound, placing …
DOORS = (
    "audio.files.proxies",
    "audio.play.frame_prefetch",
    "audio.play.playback",
    "audio.placement.proof",
    "audio.files.media",
    "audio.song.beats",
    "audio.shoot.consistency",
)


def test_threads_may_open_the_engine_at_the_same_moment() -> None:
    """The media library's modules import each other in a circle: two threads that begin with another of them
    each are left with halves. The interpreter changes threads as often as it can here."""
    program = f"""
import importlib, sys, threading, typing
doors, failed = {DOORS!r}, []
gate = threading.Barrier(len(doors))

def open_door(name):
    gate.wait()
    try:
        importlib.import_module(name)
    except Exception as error:
        failed.append(f"{{name}}: {{error!r}}")

sys.setswitchinterval(1e-5)
threads = [threading.Thread(target=open_door, args=(name,)) for name in doors]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
sys.exit("\\n".join(failed) or 0)
"""
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, timeout=240, check=False
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("module", sorted(FILE_ROOMS))
def test_the_media_library_is_loaded_whole_before_a_part_of_it(module: str) -> None:
    tree = ast.parse(sources()[module].read_text(encoding="utf-8")).body
    whole = False
    for node in tree:
        if isinstance(node, ast.Import):
            whole |= any(alias.name == "av" for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            whole |= node.module == "av"
            assert whole or not node.module.startswith("av."), f"line {node.lineno}: import av first"
