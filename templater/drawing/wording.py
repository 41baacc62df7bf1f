"""The sentences and figures on the sheets, in the description's units."""

from __future__ import annotations

from collections.abc import Iterable

from templater.boat.solved import Boat, Setting
from templater.standards.typeface import text_width
from templater.units import Figures, length_text, mm_text, size_in_inches


def length(value: float, units: str | Figures) -> str:
    """Return a length for people: mm with one decimal, for boats in inches also the nearest 1/32 in, or as asked.

    >>> length(2285.0, "in")
    '2285.0 mm (89 31/32 in)'
    """
    return length_text(value, units)


def diameter(value: float, figures: Figures | None = None) -> str:
    """Return a diameter in mm with its sign, without needless decimals; in inches where they stand alone.

    >>> diameter(18.0), diameter(15.875)
    ('⌀18', '⌀15.9')
    """
    if figures is not None and figures.system == "in":
        return "⌀" + size_in_inches(value, figures)
    return "⌀" + mm_text(value).removesuffix(".0")


def size(value: float, figures: Figures) -> str:
    """Return the size of a part that is bought or made: as a length, but where inches stand alone never far off.

    >>> size(18.0, Figures()), size(18.0, Figures("in"))
    ('18.0 mm', '45/64 in (18 mm)')
    """
    return size_in_inches(value, figures) if figures.system == "in" else length(value, figures)


def closing_lines(boat: Boat, warnings: tuple[str, ...]) -> tuple[str, ...]:
    """Return what ends the notes of every sheet: what rounding did to inches, and how many warnings there are."""
    rounding = boat.description.figures.rounding_text
    return (*((rounding,) if rounding else ()), *warnings_line(warnings))


def setting_lines(boat: Boat, setting: Setting) -> tuple[str, ...]:
    """Return what stands beside a bolt line, in short lines that make one sentence."""
    units = boat.description.figures
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
