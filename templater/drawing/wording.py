"""The sentences and figures on the sheets, in the description's units."""

from __future__ import annotations

from collections.abc import Iterable

from templater.boat.model import Boat, Setting
from templater.standards.typeface import text_width
from templater.units import inch_text, mm_text


def length(value: float, units: str) -> str:
    """Return a length for people: mm with one decimal, for boats in inches also the nearest 1/32 in.

    >>> length(2285.0, "in")
    '2285.0 mm (89 31/32 in)'
    """
    text = f"{mm_text(value)} mm"
    return f"{text} ({inch_text(value)})" if units == "in" else text


def diameter(value: float) -> str:
    """Return a diameter in mm with its sign, without needless decimals.

    >>> diameter(18.0), diameter(15.875)
    ('⌀18', '⌀15.9')
    """
    return "⌀" + mm_text(value).removesuffix(".0")


def setting_lines(boat: Boat, setting: Setting) -> tuple[str, ...]:
    """Return what stands beside a bolt line, in short lines that make one sentence."""
    units = boat.description.units
    lines = [
        f"setting {setting.number}: bolt line {length(setting.station, units)}",
        "aft of the steering pivot axis,",
        f"runner pivot axis {length(setting.runner_base, units)}",
    ]
    rule = boat.description.rule
    if setting.at_limit and rule is not None:
        lines[-1] += ","
        lines.append(f"at the rule's limit less {length(rule.keep_inside, units)}")
    return tuple(lines)


def wrap(text: str, size: float, width: float) -> tuple[str, ...]:
    """Return a sentence in lines no wider than ``width`` where its words allow."""
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", size) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return tuple(lines)


def note_lines(notes: Iterable[str], size: float, width: float) -> tuple[str, ...]:
    """Return notes in lines, each note begun with a dash."""
    return tuple(line for note in notes for line in wrap(f"– {note}", size, width))


def warnings_line(warnings: tuple[str, ...]) -> tuple[str, ...]:
    """Return the line that says how many warnings there are, or nothing."""
    if not warnings:
        return ()
    return (f"{len(warnings)} warning{'s' if len(warnings) > 1 else ''}: see the job sheet before drilling",)
