"""Wire formats nobody has seen before, drawn by chance: framing, order, widths, signs, checks.

A format is a list of writers, one a field, each of which makes text of what is shown; a seed
always draws the same one. Numbers never touch a digit that is not theirs unless columns are
fixed: of such a stream nobody could tell where the number ends.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Final, TypeAlias

from simulators.chance import stream
from simulators.display import Shown

Writer: TypeAlias = Callable[[Shown], str]

UNITS: Final = ("g", "kg", "oz", "lb")
_UNIT_WORDS: Final = (
    ("g", "kg", "oz", "lb"),
    ("g", "kg", "oz", "lb"),
    ("G", "KG", "OZ", "LB"),
    ("GRM", "KGM", "OZA", "LBA"),
    ("G", "K", "O", "L"),
    ("0", "1", "2", "3"),
)
_STATUS_WORDS: Final = (
    ("S", "M"),
    ("ST", "US"),
    ("S", "D"),
    ("0", "1"),
    ("stable", "motion"),
    ("OK", "--"),
    (" ", "?"),
    ("*", " "),
)
_MODE_WORDS: Final = (("G", "N"), ("GR", "NT"), ("B", "N"), ("gross", "net"))
_HEADS: Final = ("W:", "01", "N", "=", "SC1 ")
_FRAMES: Final = (
    ("", "\r\n"),
    ("", "\r\n"),
    ("", "\n"),
    ("", "\r"),
    ("\x02", "\x03"),
    ("\x02", "\x03\r\n"),
    ("\x02", "\r"),
    ("\x01", "\x04"),
    ("[", "]"),
    ("#", "\r\n"),
)


@dataclass(frozen=True, slots=True)
class RandomFormat:
    """One format.

    Attributes:
        name: What was drawn, in a line.
        units: Units that its scale's key goes through; one: there is no such key.
        write: One reading as it is sent.
    """

    name: str
    units: tuple[str, ...]
    write: Callable[[Shown], bytes]


def random_format(seed: int) -> RandomFormat:
    """The format of that seed."""
    return _Draw(stream(seed, "format")).format()


class _Draw:
    """Draws one format, noting what was drawn."""

    def __init__(self, chance: Random) -> None:
        self._chance = chance
        self._drawn: list[str] = []
        self._columns = chance.random() < 0.6
        self._separator = chance.choice(("", "", " ", ",") if self._columns else (",", ";", " "))
        self._negative_flag = False
        self.units: tuple[str, ...] = UNITS

    def format(self) -> RandomFormat:
        fields = [self._number()]
        unit = self._unit()
        if unit is not None:
            fields.append(unit)
        status = self._status()
        fields.insert(0 if self._chance.random() < 0.6 else len(fields), status)
        if self._chance.random() < 0.4:
            mode = self._pair("mode", self._chance.choice(_MODE_WORDS), lambda shown: shown.net)
            fields.insert(self._chance.choice((0, len(fields))), mode)
        if self._chance.random() < 0.2:
            head = self._chance.choice(_HEADS)
            # A free number would swallow the head's digits, and nobody could tell.
            fields.insert(0, lambda _: head)
            self._drawn.append(f"head {head!r}")
        if self._columns and self._chance.random() < 0.15:
            fields.append(lambda shown: f"{round(shown.t * 10) % 10000:04d}")
            self._drawn.append("running number")
        name = f"{'columns' if self._columns else 'free'}, separator {self._separator!r}"
        write = self._framed(fields)
        return RandomFormat(", ".join([name, *self._drawn]), self.units, write)

    def _number(self) -> Writer:
        width = self._chance.randint(9, 12) if self._columns else 0
        pad = self._chance.choice(" 0") if self._columns else ""
        sign = self._chance.choice(("leading", "column", "trailing", "flag"))
        if not self._columns and sign in ("column", "flag"):
            sign = "leading"
        self._negative_flag = sign == "flag"
        plus = self._chance.choice("+ ") if sign in ("column", "trailing") else ""
        if not self._columns:
            plus = ""
        decimal = self._chance.choice((".", ".", ".", ",", "implied"))
        if decimal == "," and self._separator == ",":
            decimal = "."
        if decimal == "implied":
            self.units = ("g",)  # elsewhere the point would have to move unseen
        self._drawn.append(f"width {width} pad {pad!r} sign {sign} plus {plus!r} {decimal}")
        return _number_writer(width, pad, (sign, plus), decimal)

    def _unit(self) -> Writer | None:
        words = self._chance.choice(_UNIT_WORDS)
        if len(self.units) == 1 or self._chance.random() < 0.15:
            if self._chance.random() < 0.3:
                self.units = ("g",)
                self._drawn.append("no unit")
                return None
            self.units = ("g",)
            words = _UNIT_WORDS[0]
        if words[0] == "0" and not self._columns and self._separator == " ":
            words = _UNIT_WORDS[0]
        put = self._chance.choice((str.ljust, str.rjust))
        width = max(map(len, words)) if self._columns else 0
        table = {unit: put(word, width) for unit, word in zip(UNITS, words, strict=True)}
        self._drawn.append(f"units {list(table.values())}")
        return lambda shown: table[shown.unit]

    def _status(self) -> Writer:
        if self._negative_flag or (self._columns and self._chance.random() < 0.15):
            base = self._chance.choice((0x20, 0x40, 0x80))
            self._drawn.append(f"bits {base:02x}")
            return lambda shown: chr(
                base
                | (0 if shown.stable else 1)
                | (4 if shown.weight < 0 else 0)
                | (8 if shown.net else 0)
            )
        words = self._chance.choice(_STATUS_WORDS[: 8 if self._columns else 6])
        return self._pair("status", words, lambda shown: not shown.stable)

    def _pair(self, what: str, words: tuple[str, str], when: Callable[[Shown], bool]) -> Writer:
        width = max(map(len, words)) if self._columns else 0
        self._drawn.append(f"{what} {words}")
        return lambda shown: words[when(shown)].ljust(width)

    def _framed(self, fields: list[Writer]) -> Callable[[Shown], bytes]:
        start, end = self._chance.choice(_FRAMES)
        if self._columns and self._chance.random() < 0.15:
            start, end = "\x02", ""  # so many bytes, and that is all
        check, after = self._check(start, end)
        separator = self._separator
        self._drawn.append(f"frame {start!r} {end!r}")

        def write(shown: Shown) -> bytes:
            body = separator.join(field(shown) for field in fields).encode("latin-1")
            first, last = start.encode("latin-1"), end.encode("latin-1")
            made = check(first, body, last[:1])
            if after:
                return first + body + last[:1] + made + last[1:]
            return first + body + made + last

        return write

    def _check(self, start: str, end: str) -> tuple[Callable[[bytes, bytes, bytes], bytes], bool]:
        kind = self._chance.choice(("none", "none", "xor", "sum", "negated"))
        written = self._chance.choice(("hex", "hex", "decimal", "byte"))
        marked = bool(start) and end[:1] not in ("", "\r", "\n")
        after = marked and kind != "none" and self._chance.random() < 0.5
        if written == "byte" and not after and end:
            written = "hex"
        with_start = bool(start) and self._chance.random() < 0.4
        with_end = after and self._chance.random() < 0.5
        modulo = 1000 if written == "decimal" and kind == "sum" else 256
        self._drawn.append(f"check {kind} {written} after {after} over {with_start} {with_end}")

        def make(first: bytes, body: bytes, last: bytes) -> bytes:
            covered = (first if with_start else b"") + body + (last if with_end else b"")
            return _written(_total(kind, covered) % modulo, kind, written)

        return make, after


def _total(kind: str, covered: bytes) -> int:
    if kind == "xor":
        total = 0
        for byte in covered:
            total ^= byte
        return total
    return -sum(covered) if kind == "negated" else sum(covered)


def _written(total: int, kind: str, written: str) -> bytes:
    if kind == "none":
        return b""
    if written == "byte":
        return bytes([total % 256])
    return (f"{total:02X}" if written == "hex" else f"{total:03d}").encode("ascii")


def _number_writer(width: int, pad: str, signs: tuple[str, str], decimal: str) -> Writer:
    sign, plus = signs

    def write(shown: Shown) -> str:
        digits = f"{abs(shown.weight):f}"
        digits = digits.replace(".", "" if decimal == "implied" else decimal)
        mark = "-" if shown.weight < 0 else plus
        match sign:
            case "leading":
                signed = ("-" if shown.weight < 0 else "") + digits
                return signed.zfill(width) if pad == "0" else signed.rjust(width)
            case "column":
                return mark + (digits.rjust(width - 1, pad or " "))
            case "trailing":
                filled = digits.rjust(width - 1, pad) if width else digits
                return filled + (mark or (" " if width else ""))
            case _:
                return digits.rjust(width, pad)

    return write
