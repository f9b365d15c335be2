"""Finding profiles by id and by path, on real files."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from scaled.catalogue import find_profile, find_profile_by_id, load_profile, profile_ids
from scaled.core.errors import ConfigError, ProfileError

SHIPPED = ["millstone-flatbread", "orchard-oat-pot", "winter-barley-bowl"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A kitchen's own folder with one dish of its own and one that replaces a shipped one."""
    text = find_profile("orchard-oat-pot").text
    own = text.replace('id = "orchard-oat-pot"', 'id = "plum-pot"')
    (tmp_path / "plum-pot.toml").write_text(own, "utf-8")
    (tmp_path / "orchard-oat-pot.toml").write_text(text.replace("122 g", "123 g"), "utf-8")
    (tmp_path / "notes.txt").write_text("not a profile", "utf-8")
    return tmp_path


def test_an_id_finds_a_shipped_profile() -> None:
    source = find_profile("winter-barley-bowl")
    assert source.where == "winter-barley-bowl.toml"
    assert 'id = "winter-barley-bowl"' in source.text
    assert load_profile("winter-barley-bowl").id == "winter-barley-bowl"


def test_a_folder_of_ones_own_comes_first(folder: Path) -> None:
    assert load_profile("plum-pot", [folder]).id == "plum-pot"
    assert load_profile("orchard-oat-pot", [folder]).steps[1].target_g == 123.0
    assert load_profile("orchard-oat-pot").steps[1].target_g == 122.0
    assert find_profile("plum-pot", [folder]).where == str(folder / "plum-pot.toml")


def test_ids_are_listed_once_and_sorted(folder: Path) -> None:
    assert profile_ids() == SHIPPED
    assert profile_ids([folder]) == sorted([*SHIPPED, "plum-pot"])
    assert profile_ids([folder / "nowhere"]) == SHIPPED


def test_a_path_finds_a_file_under_any_name(folder: Path) -> None:
    path = folder / "plum-pot.toml"
    renamed = path.rename(folder / "Plum pot (draft).toml")
    assert load_profile(str(renamed)).id == "plum-pot"


def test_a_file_next_door_is_found_by_its_bare_name(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "plum-pot.toml").rename(folder / "plum")
    monkeypatch.chdir(folder)
    assert load_profile("plum").id == "plum-pot"


def test_the_mark_of_windows_editors_is_read_over(folder: Path) -> None:
    path = folder / "plum-pot.toml"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert load_profile(str(path)).id == "plum-pot"


def test_an_unknown_id_lists_the_known_ones(folder: Path) -> None:
    with pytest.raises(ConfigError) as caught:
        find_profile("plum-pie", [folder])
    assert str(caught.value) == (
        "plum-pie: no profile has this id; known: "
        "millstone-flatbread, orchard-oat-pot, plum-pot, winter-barley-bowl"
    )


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    path = tmp_path / "bowl.toml"
    with pytest.raises(ConfigError) as caught:
        find_profile(str(path))
    assert str(caught.value) == f"{path}: no such file; give a profile's id or its path"


def test_a_folder_is_no_profile(tmp_path: Path) -> None:
    with pytest.raises(ConfigError) as caught:
        find_profile(str(tmp_path))
    assert str(caught.value) == f"{tmp_path}: a folder, not a file; name the profile in it"


def test_a_path_through_a_file_is_told(folder: Path) -> None:
    path = folder / "plum-pot.toml" / "inner.toml"
    with pytest.raises(ConfigError) as caught:
        find_profile(str(path))
    assert str(caught.value) == f"{path}: cannot be read: {os.strerror(20)}"


def test_bytes_that_are_no_text_are_told_with_their_line(tmp_path: Path) -> None:
    path = tmp_path / "bowl.toml"
    path.write_bytes(b'schema = 1\ntitle = "Sch\xfcssel"\n')
    with pytest.raises(ProfileError) as caught:
        find_profile(str(path))
    assert str(caught.value) == f"{path}: line 2: not UTF-8 text; save it as UTF-8"


def test_an_id_must_be_its_files_name(folder: Path) -> None:
    (folder / "plum-pot.toml").rename(folder / "prune-pot.toml")
    with pytest.raises(ProfileError) as caught:
        load_profile("prune-pot", [folder])
    where = folder / "prune-pot.toml"
    assert str(caught.value) == f'{where}: id: must be the file\'s name; write id = "prune-pot"'


@pytest.mark.parametrize(
    "name", ["profiles", "../plum-pot", "./plum-pot.toml", "", "plum-pot.toml"]
)
def test_by_id_no_path_is_followed(
    folder: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    kitchen = folder / "kitchen"
    (kitchen / "profiles").mkdir(parents=True)
    monkeypatch.chdir(kitchen)
    with pytest.raises(ConfigError, match="no profile has this id; known: millstone-flatbread"):
        find_profile_by_id(name, [kitchen])


def test_by_id_a_file_next_door_is_not_meant(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "plum-pot.toml").rename(folder / "plum")
    monkeypatch.chdir(folder)
    with pytest.raises(ConfigError, match="plum: no profile has this id"):
        find_profile_by_id("plum", [folder])
    assert find_profile_by_id("orchard-oat-pot", [folder]).where.startswith(str(folder))
