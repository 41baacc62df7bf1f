"""Every command's arguments."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

from templater import __version__
from templater.cli.console import USAGE, say
from templater.units import MM, parse_length


class _Parser(argparse.ArgumentParser):
    """A parser whose complaints do nothing to a terminal, whatever was typed."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the command line, and leave."""
        self.print_usage(sys.stderr)
        say(f"{self.prog}: error: {message}", file=sys.stderr)
        sys.exit(USAGE)


def _processes(text: str) -> int:
    number = int(text)
    if not 1 <= number <= 64:
        raise argparse.ArgumentTypeError("1 to 64 processes")
    return number


def _length(text: str) -> float:
    """Return a length of the command line in mm."""
    try:
        value = parse_length(text)
    except ValueError as fault:
        raise argparse.ArgumentTypeError(f"{text}: not a length - allowed: {fault}") from None
    if value < 0:
        raise argparse.ArgumentTypeError(f"{text}: less than 0 - allowed: 0 or more")
    return value


#: What several commands take.
_SHARED: dict[str, dict[str, Any]] = {
    "description": {"type": Path, "help": "YAML description of hull and plank, or a handover PDF"},
    "--paper": {"help": "paper instead of the description's, as in A3, Letter or 'roll 24 in'"},
    "--out": {"type": Path, "default": Path("out"), "help": "folder for one folder a boat (default out)"},
    "--json": {"action": "store_true", "help": "print JSON for other programs"},
    "--printer": {"metavar": "NAME", "help": "stored printer profile instead of the description's"},
    "--replace": {"action": "store_true", "help": "replace files that are there already"},
    "readings": {"type": Path, "nargs": "?", "help": "YAML file of readings, see new --readings"},
    "--earlier": {"type": Path, "metavar": "FILE", "help": "fit-up.json of an earlier fit-up to compare with"},
    "--store": {"type": Path, "metavar": "DIR", "help": "folder of profiles instead of the user's own"},
}
_FIT_UP = "description readings --earlier --paper --out --printer --json"


def parser(only: str = "") -> argparse.ArgumentParser:
    """Return the parser of the whole command line, or of one command alone, if there is one of that name: faster."""
    whole = _Parser(
        prog="templater",
        description="Full-scale paper templates for fixing the runner plank of a small wooden ice boat, proved true.",
        epilog="Exit status: 0 done, 1 description or readings at fault, 2 usage, 3 done but out of tolerance, or the "
        "readings decide nothing.",
    )
    whole.add_argument("--version", action="version", version=f"templater {__version__}")
    whole.add_argument("--traceback", action="store_true", help=argparse.SUPPRESS)
    commands = whole.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def command(name: str, run: str, words: str, shared: str = "", among: Any = commands) -> Callable[..., Any]:
        """Add a command, run by ``module:function`` of this room, and what it shares; return what adds its own."""
        if among is commands and only and name != only:
            return lambda *_names, **_said: None
        parser: argparse.ArgumentParser = among.add_parser(name, help=words)
        parser.set_defaults(run=run, command=name)
        for one in shared.split():
            parser.add_argument(one, **_SHARED[one])
        return parser.add_argument

    add = command("new", "build:new", "write a commented description to start from")
    add("file", type=Path, help="file to write, as in my-boat.yaml; an existing one is never replaced")
    add("--boat", default="", help="the boat's name")
    add("--readings", type=Path, metavar="BOAT", help="write a readings file for this boat's fit-up instead")
    add("--units", choices=("mm", "in"), default="mm", help="unit of bare numbers (mm if left out)")

    words = "solve the boat and say what is wrong or worth knowing"
    add = command("check", "build:check", words, "description --paper --json")
    add("--accuracy", action="store_true", help="say how good the drilled boat will be")

    words = "write the templates, the job sheet and the manifest, proved"
    add = command("make", "build:make", words, "--paper --printer --out --json")
    add("description", type=Path, nargs="+", help="YAML description or handover PDF; several make a fleet")
    add("--processes", type=_processes, metavar="N", help="boats made at a time, for a fleet")
    add("--only", action="append", default=[], metavar="SHEET", help="make this sheet only; may be repeated")
    add("--tile", action="append", default=[], metavar="TILE", help="make one lost tile of that sheet again, as 2-1")

    words = "write a DXF and an SVG of each plate for the shop that cuts them"
    command("cut", "build:cut", words, "description --paper --out --json")

    add = command("page", "share:page", "write the whole tool as one HTML file that opens in a browser")
    add("description", type=Path, nargs="?", help="boat that goes in: YAML, handover PDF or such a page")
    add("--to", type=Path, default=Path("templater.html"), metavar="FILE", help="file to write")
    add("--folder", type=Path, metavar="DIR", help="write a folder to host instead, for phones")

    add = command("proof", "share:proof", "read PDF and SVG back and say how true they are", "--json")
    add("files", type=Path, nargs="+", metavar="DIR|FILE", help="a boat's folder, or single files")
    add("--manifest", type=Path, help="manifest to hold them against (default: the one beside them)")

    if only in ("", "printer"):
        _add_printer(commands.add_parser("printer", help="measure a printer and correct for it"), command)

    add = command("centreline", "readings:work_out", "find the hull's centreline from half breadths", _FIT_UP)
    add("--at", action="append", default=[], metavar="STATION/PORT/STARBOARD", help="one station's half breadths, as "
        "1200/312.5/310 or, with fractions, '48, 12 1/4, 12 1/8'; repeat for each station")  # fmt: skip
    add = command("square", "readings:work_out", "say from tape readings which way to move the plank", _FIT_UP)
    add("--port", metavar="READINGS", help="tape to the port chock corner, as 2600.5,2601,2600.5")
    add("--starboard", metavar="READINGS", help="tape to the starboard chock corner")
    add("--setting", type=int, metavar="N", help="setting that the plank is at, 1 foremost")
    add("--first-bolt", choices=("port", "starboard"), default="port", help="the side whose bolt is in")
    add("--tolerance", metavar="LENGTH", help=f"allowed difference of the tapes (default {MM.size(1)})")
    add = command("shim", "readings:work_out", "work out shims from crown gap, tilt and toe, at full size", _FIT_UP)
    add("--tilt-port", type=float, metavar="DEGREES", help="tilt of the port seat, fore edge high: plus")
    add("--tilt-starboard", type=float, metavar="DEGREES", help="tilt of the starboard seat")

    words = "write the whole job as one PDF, the description inside"
    add = command("handover", "share:handover", words, "description --paper --replace")
    add("--to", type=Path, metavar="FILE", help="file to write (default <boat>-handover.pdf)")
    add("--readings", type=Path, action="append", default=[], help="readings file to put in as well")
    add = command("unpack", "share:unpack", "write the texts that a handover PDF carries, byte for byte", "--replace")
    add("file", type=Path, help="handover PDF")
    add("--out", type=Path, default=Path(), help="folder to write to (default here)")
    add = command("compare", "share:compare", "say how two boats differ and whether A's templates serve B", "--json")
    add("a", type=Path, metavar="A", help="description or handover PDF of the boat with templates")
    add("b", type=Path, metavar="B", help="the same of the boat they would be used on")
    words = f"how far a hole may be off (default {MM.size(0.5)})"
    add("--tolerance", type=_length, default=0.5, metavar="LENGTH", help=words)
    add("--overlay", type=Path, metavar="FILE", help="write both floors over one another, PDF and SVG")
    add("--paper", help="paper of the overlay")

    command("schema", "build:schema", "print the JSON Schema of the description, for editors")
    return whole if commands.choices or not only else parser()


def _add_printer(printer: argparse.ArgumentParser, command: Callable[..., Any]) -> None:
    among = printer.add_subparsers(title="commands", metavar="COMMAND", required=True)
    words = "write a page with the longest bars that the paper takes"
    page = command("page", "readings:printer_page", words, among=among)
    page("--to", type=Path, default=Path("printer-page.pdf"), metavar="FILE", help="file to write")
    words = "store a printer's profile from what was measured on its page"
    put = command("set", "readings:printer_set", words, "--store", among=among)
    put("name", help="name of the printer, for print: printer")
    put("readings", nargs="+", metavar="BAR=LENGTH", help="as the page's foot shows: across=180.2 along=266.1; "
        f"figures without a unit are {MM.unit}, inches are as across='7 3/32 in'; commas part repeats")  # fmt: skip
    for add in (page, put):
        add("--paper", default="A4", help="paper of the page (default A4)")
        add("--margin", type=_length, default=7.0, metavar="LENGTH", help=f"of the page (default {MM.size(7)})")
    command("list", "readings:printer_list", "list the stored profiles", "--store", among=among)
