"""Where build profiles are found: a path, the caller's own folders, then the shipped ones."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Final

from scaled.core.errors import ConfigError, ProfileError
from scaled.core.profile import BuildProfile, parse_profile

_ID: Final = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_SUFFIX: Final = ".toml"


@dataclass(frozen=True, slots=True)
class ProfileSource:
    """A profile as its author wrote it.

    Attributes:
        text: The whole file.
        where: Its name, as error lines should spell it.
    """

    text: str
    where: str


def find_profile(name: str, folders: Sequence[Path] = ()) -> ProfileSource:
    """The text of a profile.

    Args:
        name: An id (``winter-barley-bowl``) or a path (``bowls/barley.toml``).
        folders: Searched in order for an id, before the shipped profiles.

    Raises:
        ConfigError: No profile has that id, or the file cannot be opened.
        ProfileError: The file is not UTF-8 text.
    """
    found = _found(name, folders)
    if found is None and _ID.fullmatch(name) and not Path(name).exists():
        raise _unknown(name, folders)
    return found or _read(Path(name), name)


def find_profile_by_id(profile_id: str, folders: Sequence[Path] = ()) -> ProfileSource:
    """The text of the profile with an id, never of a path: for names that come from outside.

    Raises:
        ConfigError: No profile has that id, or its file cannot be opened.
        ProfileError: The file is not UTF-8 text.
    """
    found = _found(profile_id, folders)
    if found is None:
        raise _unknown(profile_id, folders)
    return found


def parse_source(source: ProfileSource, name: str) -> BuildProfile:
    """The profile in a source that was found by that name.

    Raises:
        ProfileError: It breaks the contract, or was found by another id than its own; names the
            file, the key and the reason.
    """
    profile = parse_profile(source.text, source.where)
    if name not in {source.where, profile.id}:
        raise ProfileError(source.where, "id", f'must be the file\'s name; write id = "{name}"')
    return profile


def load_profile(name: str, folders: Sequence[Path] = ()) -> BuildProfile:
    """The profile with that id or at that path; see :func:`find_profile`.

    Raises:
        ConfigError: It cannot be found or opened.
        ProfileError: It breaks the contract; names the file, the key and the reason.
    """
    return parse_source(find_profile(name, folders), name)


def profile_ids(folders: Sequence[Path] = ()) -> list[str]:
    """Ids of the profiles in these folders and of the shipped ones, sorted, each once."""
    places = [folder for folder in (*folders, files("profiles")) if folder.is_dir()]
    names = [Path(file.name) for place in places for file in place.iterdir()]
    return sorted({n.stem for n in names if n.suffix == _SUFFIX and _ID.fullmatch(n.stem)})


def _found(name: str, folders: Sequence[Path]) -> ProfileSource | None:
    """The profile that has this name as its id, if one has."""
    places = _places(name, folders) if _ID.fullmatch(name) else ()
    return next((_read(file, where) for file, where in places if file.is_file()), None)


def _unknown(profile_id: str, folders: Sequence[Path]) -> ConfigError:
    known = ", ".join(profile_ids(folders)) or "none"
    return ConfigError(profile_id, "", f"no profile has this id; known: {known}")


def _places(profile_id: str, folders: Sequence[Path]) -> Iterator[tuple[Traversable, str]]:
    file_name = profile_id + _SUFFIX
    for folder in folders:
        yield folder / file_name, str(folder / file_name)
    yield files("profiles") / file_name, file_name


def _read(file: Traversable, where: str) -> ProfileSource:
    try:
        return ProfileSource(file.read_bytes().decode("utf-8-sig"), where)
    except FileNotFoundError as err:
        raise ConfigError(where, "", "no such file; give a profile's id or its path") from err
    except IsADirectoryError as err:
        raise ConfigError(where, "", "a folder, not a file; name the profile in it") from err
    except OSError as err:
        raise ConfigError(where, "", f"cannot be read: {err.strerror}") from err
    except UnicodeDecodeError as err:
        line = err.object[: err.start].count(b"\n") + 1
        raise ProfileError(where, f"line {line}", "not UTF-8 text; save it as UTF-8") from err
