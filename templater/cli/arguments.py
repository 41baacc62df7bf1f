"""Every command's arguments."""

from __future__ import annotations

import argparse
from pathlib import Path

from templater.cli import build, fitup, make, page, printer, proof, share
from templater.units import parse_length

_Commands = argparse._SubParsersAction  # the type that argparse gives no public name


def add_commands(commands: _Commands[argparse.ArgumentParser]) -> None:
    """Add every command to the parser."""
    _add_new(commands)
    _add_check(commands)
    _add_make(commands)
    _add_cut(commands)
    _add_page(commands)
    _add_proof(commands)
    _add_printer(commands)
    _add_centreline(commands)
    _add_square(commands)
    _add_shim(commands)
    _add_handover(commands)
    _add_unpack(commands)
    _add_compare(commands)
    _add_schema(commands)


def _add_new(commands: _Commands[argparse.ArgumentParser]) -> None:
    new = commands.add_parser("new", help="write a commented description to start from")
    new.add_argument("file", type=Path, help="file to write, as in my-boat.yaml; an existing one is never replaced")
    new.add_argument("--boat", default="", help="the boat's name")
    new.add_argument(
        "--readings", type=Path, metavar="BOAT", help="write a readings file for this boat's fit-up instead"
    )
    new.add_argument("--units", choices=("mm", "in"), default="mm", help="unit of bare numbers (default mm)")
    new.set_defaults(run=build.new)


def _add_check(commands: _Commands[argparse.ArgumentParser]) -> None:
    check = commands.add_parser("check", help="solve the boat and say what is wrong or worth knowing")
    _add_description(check)
    check.add_argument("--accuracy", action="store_true", help="say how good the drilled boat will be")
    _add_json(check)
    check.set_defaults(run=build.check)


def _add_make(commands: _Commands[argparse.ArgumentParser]) -> None:
    command = commands.add_parser("make", help="write the templates, the job sheet and the manifest, proved")
    command.add_argument(
        "description", type=Path, nargs="+", help="YAML description or handover PDF; several make a fleet"
    )
    _add_paper(command)
    command.add_argument("--printer", metavar="NAME", help="stored printer profile instead of the description's")
    command.add_argument("--processes", type=_processes, metavar="N", help="boats made at a time, for a fleet")
    _add_out(command)
    command.add_argument(
        "--only", action="append", default=[], metavar="SHEET", help="make this sheet only; may be repeated"
    )
    _add_json(command)
    command.set_defaults(run=make.make)


def _add_cut(commands: _Commands[argparse.ArgumentParser]) -> None:
    command = commands.add_parser("cut", help="write a DXF and an SVG of each plate for the shop that cuts them")
    _add_description(command)
    _add_out(command)
    _add_json(command)
    command.set_defaults(run=make.cut)


def _add_page(commands: _Commands[argparse.ArgumentParser]) -> None:
    one = commands.add_parser("page", help="write the whole tool as one HTML file that opens in a browser")
    one.add_argument("description", type=Path, nargs="?", help="boat that goes in: YAML, handover PDF or such a page")
    one.add_argument("--to", type=Path, default=Path("templater.html"), metavar="FILE", help="file to write")
    one.add_argument("--folder", type=Path, metavar="DIR", help="write a folder to host instead, for phones")
    one.set_defaults(run=page.page)


def _add_schema(commands: _Commands[argparse.ArgumentParser]) -> None:
    schema = commands.add_parser("schema", help="print the JSON Schema of the description, for editors")
    schema.set_defaults(run=build.schema)


def _add_description(parser: argparse.ArgumentParser) -> None:
    """Add what every command that takes a description takes."""
    parser.add_argument("description", type=Path, help="YAML description of hull and plank, or a handover PDF")
    _add_paper(parser)


def _add_paper(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--paper", help="paper instead of the description's, as in A3, Letter or 'roll 24 in'")


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
        raise argparse.ArgumentTypeError(f"{text}: below nothing - allowed: 0 or more")
    return value


def _add_out(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", type=Path, default=Path("out"), help="folder for one folder a boat (default out)")


def _add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON for other programs")


def _add_handover(commands: _Commands[argparse.ArgumentParser]) -> None:
    handover = commands.add_parser("handover", help="write the whole job as one PDF, the description inside")
    _add_description(handover)
    handover.add_argument("--to", type=Path, metavar="FILE", help="file to write (default <boat>-handover.pdf)")
    handover.add_argument("--readings", type=Path, action="append", default=[], help="readings file to put in as well")
    handover.add_argument("--replace", action="store_true", help="replace the file if it stands there already")
    handover.set_defaults(run=share.handover)


def _add_unpack(commands: _Commands[argparse.ArgumentParser]) -> None:
    unpack = commands.add_parser("unpack", help="write the texts that a handover PDF carries, byte for byte")
    unpack.add_argument("file", type=Path, help="handover PDF")
    unpack.add_argument("--out", type=Path, default=Path(), help="folder to write to (default here)")
    unpack.add_argument("--replace", action="store_true", help="replace files that stand there already")
    unpack.set_defaults(run=share.unpack)


def _add_compare(commands: _Commands[argparse.ArgumentParser]) -> None:
    compare = commands.add_parser("compare", help="say how two boats differ and whether A's templates serve B")
    compare.add_argument("a", type=Path, metavar="A", help="description or handover PDF of the boat with templates")
    compare.add_argument("b", type=Path, metavar="B", help="the same of the boat they would be used on")
    compare.add_argument("--tolerance", type=_length, default=0.5, metavar="LENGTH", help="how far a hole may lie "
                         "off (default 0.5 mm)")  # fmt: skip
    compare.add_argument("--overlay", type=Path, metavar="FILE", help="write both floors over one another, PDF and SVG")
    compare.add_argument("--paper", help="paper of the overlay")
    _add_json(compare)
    compare.set_defaults(run=share.compare)


def _add_proof(commands: _Commands[argparse.ArgumentParser]) -> None:
    command = commands.add_parser("proof", help="read PDF and SVG back and say how true they are")
    command.add_argument("files", type=Path, nargs="+", metavar="DIR|FILE", help="a boat's folder, or single files")
    command.add_argument("--manifest", type=Path, help="manifest to hold them against (default: the one beside them)")
    _add_json(command)
    command.set_defaults(run=proof.proof)


def _add_printer(commands: _Commands[argparse.ArgumentParser]) -> None:
    command = commands.add_parser("printer", help="measure a printer and correct for it")
    parts = command.add_subparsers(title="commands", metavar="COMMAND", required=True)
    page = parts.add_parser("page", help="write a page with the longest bars that the paper takes")
    page.add_argument("--to", type=Path, default=Path("printer-page.pdf"), metavar="FILE", help="file to write")
    page.set_defaults(run=printer.printer_page)
    put = parts.add_parser("set", help="store a printer's profile from what was measured on its page")
    put.add_argument("name", help="name of the printer, for print: printer")
    put.add_argument("readings", nargs="+", metavar="BAR=LENGTH", help="across=180.2 along=260.1 rising=.. falling=..")
    put.set_defaults(run=printer.printer_set)
    for one in (page, put):
        one.add_argument("--paper", default="A4", help="paper of the page (default A4)")
        one.add_argument("--margin", type=_length, default=7.0, metavar="LENGTH", help="of the page (default 7 mm)")
    shown = parts.add_parser("list", help="list the stored profiles")
    shown.set_defaults(run=printer.printer_list)
    for one in (put, shown):
        one.add_argument("--store", type=Path, metavar="DIR", help="folder of profiles instead of the user's own")


def _add_centreline(commands: _Commands[argparse.ArgumentParser]) -> None:
    line = commands.add_parser("centreline", help="find the hull's centreline from half breadths")
    _add_fitup(line, "centreline")
    line.add_argument("--at", action="append", default=[], metavar="STATION/PORT/STARBOARD", help="one station's half "
                      "breadths, as 1200/312.5/310 or, with fractions, '48, 12 1/4, 12 1/8'; repeat for each "
                      "station")  # fmt: skip


def _add_square(commands: _Commands[argparse.ArgumentParser]) -> None:
    square = commands.add_parser("square", help="say from tape readings which way to move the plank")
    _add_fitup(square, "square")
    square.add_argument("--port", metavar="READINGS", help="tape to the port chock corner, as 2600.5,2601,2600.5")
    square.add_argument("--starboard", metavar="READINGS", help="tape to the starboard chock corner")
    square.add_argument("--setting", type=int, metavar="N", help="setting that the plank is at, 1 foremost")
    square.add_argument("--first-bolt", choices=("port", "starboard"), default="port", help="the side whose bolt is in")
    square.add_argument("--tolerance", metavar="LENGTH", help="allowed difference of the two tapes (default 1 mm)")


def _add_shim(commands: _Commands[argparse.ArgumentParser]) -> None:
    shim = commands.add_parser("shim", help="work out shims from crown gap, tilt and toe, at full size")
    _add_fitup(shim, "shim")
    shim.add_argument("--tilt-port", type=float, metavar="DEGREES", help="tilt of the port seat, fore edge high: plus")
    shim.add_argument("--tilt-starboard", type=float, metavar="DEGREES", help="tilt of the starboard seat")


def _add_fitup(parser: argparse.ArgumentParser, command: str) -> None:
    """Add what every command of fit-up takes."""
    _add_description(parser)
    parser.add_argument("readings", type=Path, nargs="?", help="YAML file of readings, see new --readings")
    parser.add_argument("--earlier", type=Path, metavar="FILE", help="fit-up.json of an earlier fit-up to compare with")
    _add_out(parser)
    parser.add_argument("--printer", metavar="NAME", help="stored printer profile instead of the description's")
    _add_json(parser)
    parser.set_defaults(run=fitup.run, command=command)
