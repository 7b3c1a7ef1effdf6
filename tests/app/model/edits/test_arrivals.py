"""Files that come by themselves: in every kept value, under one id, and no step."""

from pathlib import PurePath

from app.model.document.change import NOTHING, Change
from app.model.document.history import History
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.edits import shoot_edits
from app.model.edits.arrivals import arrive


def file(name: str) -> MediaRef:
    return MediaRef(f"/card/{name}.mov", 10, name)


def come(history: History, *names: str) -> Change:
    return history.rewrite(lambda values, at: arrive(values, at, [file(name) for name in names]))


def ids(history: History) -> dict[str, str]:
    return {PurePath(clip.media.path).stem: clip.id for clip in history.shoot.clips}


def add(history: History, name: str) -> None:
    history.push("Add", *shoot_edits.add_clips(history.shoot, [file(name)]))


def remove(history: History, name: str) -> None:
    history.push("Remove", *shoot_edits.remove_clips(history.shoot, [ids(history)[name]]))


def test_a_file_that_came_has_one_id_before_and_after_every_step() -> None:
    history = History(Shoot())
    add(history, "a")
    add(history, "b")
    history.undo()
    assert come(history, "c") == Change.CLIPS | Change.ANGLES
    assert ids(history) == {"a": "clip-1", "c": "clip-3"}
    history.redo()
    assert ids(history) == {"a": "clip-1", "b": "clip-2", "c": "clip-3"}
    history.undo()
    history.undo()
    assert ids(history) == {"c": "clip-3"}
    angle = history.shoot.angles[0].id
    history.redo()
    assert history.shoot.clip("clip-3").angle_id == angle


def test_a_file_that_is_there_already_does_not_come_twice() -> None:
    history = History(Shoot())
    add(history, "a")
    assert come(history, "a") == NOTHING
    history.undo()
    assert ids(history) == {}, "it was added by a person, whose step was undone"


def test_a_file_of_an_undone_step_keeps_its_id_when_it_comes() -> None:
    history = History(Shoot())
    add(history, "a")
    add(history, "b")
    history.undo()
    come(history, "c", "b")
    assert ids(history) == {"a": "clip-1", "c": "clip-3", "b": "clip-2"}
    history.redo()
    assert ids(history) == {"a": "clip-1", "c": "clip-3", "b": "clip-2"}


def test_a_file_taken_out_by_a_person_stays_out_after_redo() -> None:
    history = History(Shoot())
    come(history, "a")
    add(history, "b")
    remove(history, "a")
    come(history, "c")
    assert sorted(ids(history)) == ["b", "c"]
    history.undo()
    assert sorted(ids(history)) == ["a", "b", "c"]
    history.undo()
    assert sorted(ids(history)) == ["a", "c"]
    history.redo()
    history.redo()
    assert sorted(ids(history)) == ["b", "c"]


def test_redo_of_taking_a_file_out_does_so_though_it_came_meanwhile() -> None:
    history = History(Shoot())
    add(history, "a")
    remove(history, "a")
    history.undo()
    history.undo()
    come(history, "a")
    history.redo()
    assert sorted(ids(history)) == ["a"]
    history.redo()
    assert ids(history) == {}


def test_a_file_that_comes_again_after_it_was_taken_out_is_there_after_undo() -> None:
    history = History(Shoot())
    come(history, "a")
    remove(history, "a")
    add(history, "b")
    come(history, "a")
    assert sorted(ids(history)) == ["a", "b"]
    history.undo()
    assert sorted(ids(history)) == ["a"]


def test_two_files_never_share_an_id_though_one_id_was_given_twice() -> None:
    history = History(Shoot())
    add(history, "a")
    remove(history, "a")
    add(history, "b")
    assert ids(history) == {"b": "clip-1"}
    come(history, "a")
    assert ids(history) == {"b": "clip-1", "a": "clip-2"}
