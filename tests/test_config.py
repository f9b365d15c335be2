from __future__ import annotations

import os
from pathlib import Path

import pytest

from scaled.address import SOCKET_PATH_BYTES, TcpAddress, UnixAddress, parse_address
from scaled.config import config_from_options, default_address, read_config, state_dir
from scaled.core.accuracy import ByClass
from scaled.core.errors import ConfigError
from scaled.station.link import STALE_S

STATION = {"device": "/dev/scale", "format": "ascii-stream"}

WHOLE = """
listen = "unix:/run/kitchen/station.sock"
state = "records"
profiles = ["dishes", "/srv/profiles"]

[[station]]
name = "line-1"
device = "/dev/scale-1"
format = "ascii-stream"
division = "0.05 oz"
profile = "winter-barley-bowl"
baud = 4800
framing = "7E1"
stale_s = 2.5

[[station]]
name = "line-2"
device = "/dev/scale-2"
format = "ascii-poll"
"""


def write(folder: Path, text: str) -> Path:
    path = folder / "station.toml"
    path.write_text(text, encoding="utf-8")
    return path


def line_of(folder: Path, text: str) -> str:
    """The error line of a configuration file, without the file's folder."""
    with pytest.raises(ConfigError) as raised:
        read_config(write(folder, text))
    return str(raised.value).replace(f"{folder}/", "")


def test_whole_file(tmp_path: Path) -> None:
    config = read_config(write(tmp_path, WHOLE))
    first, second = config.stations
    assert (first.name, first.device, first.format) == ("line-1", "/dev/scale-1", "ascii-stream")
    # NIST Handbook 44, Appendix C: the avoirdupois ounce is 28.349523125 g.
    assert first.division_g == pytest.approx(0.05 * 28.349523125, rel=1e-12)
    assert (first.accuracy, second.accuracy) == (None, None)
    assert (first.baud, first.framing, first.stale_s) == (4800, "7E1", 2.5)
    assert (second.name, second.division_g, second.profile) == ("line-2", None, None)
    assert config.listen == UnixAddress(Path("/run/kitchen/station.sock"))


def test_the_plate_of_the_scale(tmp_path: Path) -> None:
    plate = WHOLE.replace('"0.05 oz"', '"0.1 g"\nclass = "II"\ne = "1 g"')
    first, _ = read_config(write(tmp_path, plate)).stations
    assert first.accuracy == ByClass("II", 1.0)


def test_what_the_scale_is_checked_with(tmp_path: Path) -> None:
    checked = 'test_weights = ["500 g", "2 kg"]\ntest_weight_error = "0.1 g"\n'
    text = f'{WHOLE}{checked}check_standard = "nist-hb44"\ncapacity = "6 kg"\n'
    first, second = read_config(write(tmp_path, text)).stations
    assert second.test_weights_g == (500.0, 2000.0)
    assert (second.test_weight_error_g, second.check_standard) == (0.1, "nist-hb44")
    assert second.capacity_g == 6000.0
    assert (first.test_weights_g, first.check_standard) == ((), "oiml-r76")


def test_relative_paths_start_at_the_files_own_folder(tmp_path: Path) -> None:
    config = read_config(write(tmp_path, WHOLE))
    assert config.state == tmp_path / "records"
    assert config.profiles == (tmp_path / "dishes", Path("/srv/profiles"))


def test_a_description_of_a_format_lies_beside_the_file(tmp_path: Path) -> None:
    own = WHOLE.replace('"ascii-stream"', '"my-scale.toml"')
    first, second = read_config(write(tmp_path, own)).stations
    assert (first.format, second.format) == (f"{tmp_path}/my-scale.toml", "ascii-poll")
    assert (second.baud, second.framing) == (None, None)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[[station]\n", "station.toml: not readable as TOML: "),
        (
            WHOLE + 'test_weights = "2 kg"',
            "station.toml: station 2 (line-2), test_weights: ",
        ),
        (
            WHOLE + 'test_weights = ["2"]',
            'station 2 (line-2), test_weights 1: "2" has no unit; write a weight such as',
        ),
        (
            WHOLE + 'check_standard = "mine"',
            'station 2 (line-2), check_standard: "mine" is not known; ',
        ),
        ("", "station.toml: station: there is none; add a [[station]] table"),
        ("station = []", "station.toml: station: there is none; add a [[station]] table"),
        (
            '[[station]]\nformat = "x"',
            'station.toml: station 1, device: missing; add device = "/dev/ttyUSB0"',
        ),
        (
            WHOLE + 'colour = "red"',
            "station.toml: station 2 (line-2), colour: unknown key; remove it or use division,"
            " class, e, name, device, format",
        ),
        (
            WHOLE.replace('"line-1"', '"Line 1"'),
            'station 1 (Line 1), name: "Line 1": use lower-case letters, digits and single'
            " hyphens",
        ),
        (
            WHOLE.replace('"line-1"', '"line-2"'),
            'station.toml: station: two have the name "line-2"; give each its own',
        ),
        (
            WHOLE.replace("scale-1", "scale-2"),
            'station: two have the device "/dev/scale-2"; give each its own',
        ),
        (
            WHOLE.replace("0.05 oz", "1"),
            'station.toml: station 1 (line-1), division: "1" has no unit; write a weight such as'
            ' "128 g"',
        ),
        (
            WHOLE.replace("0.05 oz", "-1 g"),
            'station 1 (line-1), division: "-1 g" is below zero; write a weight such as "128 g"',
        ),
        (
            WHOLE.replace("4800", '"4800"'),
            'station 1 (line-1), baud: "4800" is not a whole number; write baud = 9600',
        ),
        (
            WHOLE.replace("7E1", "9X1"),
            'station 1 (line-1), framing: "9X1" is not known; write "8N1", "8N2"',
        ),
        (
            WHOLE.replace("2.5", "0"),
            "station 1 (line-1), stale_s: 0 is out of range; write a number of more than 0.0",
        ),
        (
            WHOLE.replace("unix:/run/kitchen/station.sock", "0.0.0.0:8000"),
            "station.toml: listen: only this machine may be listened to",
        ),
    ],
)
def test_wrong_file_is_one_line(tmp_path: Path, text: str, line: str) -> None:
    told = line_of(tmp_path, text)
    assert line in told
    assert "\n" not in told


def test_missing_file_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match=r"gone\.toml: cannot be read: No such file"):
        read_config(tmp_path / "gone.toml")


def test_the_socket_is_in_the_state_folder_unless_said_otherwise(tmp_path: Path) -> None:
    state = tmp_path / "line-1"
    config = config_from_options(STATION, {"state": str(state)})
    assert config.listen == UnixAddress(state / "station.sock")
    assert config_from_options(STATION, {}).listen == parse_address(default_address())
    text = WHOLE.replace('listen = "unix:/run/kitchen/station.sock"', "")
    assert read_config(write(tmp_path, text)).listen == UnixAddress(
        tmp_path / "records" / "station.sock"
    )


def test_a_state_folder_too_deep_for_a_socket_is_one_line() -> None:
    with pytest.raises(ConfigError) as raised:
        config_from_options(STATION, {"state": "/" + "a" * 100})
    assert str(raised.value) == (
        "--listen: a socket path may have 107 bytes at most, this one has 114;"
        " choose a shorter one with --listen"
    )


def test_a_scale_counts_as_silent_when_its_link_says_so(tmp_path: Path) -> None:
    text = '[[station]]\ndevice = "/dev/scale"\nformat = "ascii-stream"\n'
    assert read_config(write(tmp_path, text)).stations[0].stale_s == STALE_S


def test_options_make_the_same_configuration(tmp_path: Path) -> None:
    text = '[[station]]\ndevice = "/dev/scale"\nformat = "ascii-stream"\ndivision = "1g"\n'
    by_file = read_config(write(tmp_path, text))
    assert config_from_options(STATION | {"division": "1g"}, {}) == by_file


@pytest.mark.parametrize(
    ("station", "others", "line"),
    [
        ({"class": "three"}, {}, '--class: "three" is not known; write "I", "II", "III" or'),
        ({"class": "III"}, {}, "--e: missing; a class goes with e or the division"),
        ({"e": "1 g"}, {}, "--class: missing; e goes with one"),
        (
            {"division": "1 mL"},
            {},
            '--division: "1 mL" is not a weight; write one such as "128 g"',
        ),
        ({"name": "A"}, {}, '--station: "A": use lower-case letters, digits and single hyphens'),
        ({}, {"listen": "192.0.2.7:80"}, "--listen: only this machine may be listened to"),
    ],
)
def test_wrong_option_is_named(
    station: dict[str, object], others: dict[str, object], line: str
) -> None:
    with pytest.raises(ConfigError) as raised:
        config_from_options(STATION | station, others)
    assert str(raised.value).startswith(line)


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("unix:/run/x.sock", UnixAddress(Path("/run/x.sock"))),
        ("127.0.0.1:8040", TcpAddress("127.0.0.1", 8040)),
        ("127.8.8.8:1", TcpAddress("127.8.8.8", 1)),
        ("localhost:8040", TcpAddress("127.0.0.1", 8040)),
        ("[::1]:8040", TcpAddress("::1", 8040)),
    ],
)
def test_addresses(text: str, address: object) -> None:
    assert parse_address(text) == address
    assert parse_address(str(address)) == address


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("station", "not an address; write unix:PATH or 127.0.0.1:PORT"),
        ("127.0.0.1:http", "not an address; write unix:PATH or 127.0.0.1:PORT"),
        ("127.0.0.1:65536", "not an address; write unix:PATH or 127.0.0.1:PORT"),
        (":8040", "not an address; write unix:PATH or 127.0.0.1:PORT"),
        ("unix:", "no socket file is named; write unix:PATH"),
        ("0.0.0.0:8040", "only this machine may be listened to"),
        ("[::]:8040", "only this machine may be listened to"),
        ("kitchen.example:8040", "only this machine may be listened to"),
    ],
)
def test_wrong_address_is_one_line(text: str, reason: str) -> None:
    with pytest.raises(ConfigError) as raised:
        parse_address(text)
    assert str(raised.value).startswith(f"{text}: {reason}")


def test_socket_path_may_have_107_bytes() -> None:
    """unix(7): sun_path has 108 bytes with its end mark; bytes count, not letters."""
    longest = "unix:/" + "é" * ((SOCKET_PATH_BYTES - 1) // 2)
    assert len(os.fsencode(longest.removeprefix("unix:"))) == 107
    parse_address(longest)
    with pytest.raises(ConfigError, match="107 bytes at most, this one has 108; choose a shorter"):
        parse_address(longest + "x")


def test_state_folder_follows_xdg(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/home/cook")
    monkeypatch.setenv("XDG_STATE_HOME", "/var/state")
    assert state_dir() == Path("/var/state/scaled")
    assert default_address() == "unix:/var/state/scaled/station.sock"
    # XDG base directory specification: relative paths are invalid and to be ignored.
    monkeypatch.setenv("XDG_STATE_HOME", "state")
    assert state_dir() == Path("/home/cook/.local/state/scaled")
    monkeypatch.delenv("XDG_STATE_HOME")
    assert state_dir() == Path("/home/cook/.local/state/scaled")
