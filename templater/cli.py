"""The shell: arguments, messages and exit status. The only rooms that print are the ``cli`` modules.

Exit status: 0 done (warnings allowed), 1 the description or the readings are at fault, 2 usage, 3 done but out of
tolerance.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from templater import __version__, cli_build, cli_paper, cli_share
from templater.errors import ProofError, TemplaterError

DONE = 0
FAULT = 1
OUT_OF_TOLERANCE = 3
INTERRUPTED = 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    parser = _parser()
    arguments = parser.parse_args(argv)
    try:
        status: int = arguments.run(arguments)
        sys.stdout.flush()
        return status
    except TemplaterError as fault:
        if arguments.traceback:
            raise
        for finding in fault.findings:
            print(finding.line(), file=sys.stderr)
        return OUT_OF_TOLERANCE if isinstance(fault, ProofError) else FAULT
    except KeyboardInterrupt:
        print("stopped; nothing was written", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output went away (as with `| head`): not our fault, and nothing more to say.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


def _parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    parser = argparse.ArgumentParser(
        prog="templater",
        description="Full-scale paper templates for fixing the runner plank of a small wooden ice boat, proved true.",
        epilog="Exit status: 0 done, 1 description or readings at fault, 2 usage, 3 done but out of tolerance.",
    )
    parser.add_argument("--version", action="version", version=f"templater {__version__}")
    parser.add_argument("--traceback", action="store_true", help=argparse.SUPPRESS)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    _add_new(commands)
    _add_check(commands)
    _add_make(commands)
    _add_schema(commands)
    _add_proof(commands)
    _add_printer(commands)
    _add_handover(commands)
    _add_unpack(commands)
    _add_compare(commands)
    return parser


_Commands = argparse._SubParsersAction  # the type that argparse gives no public name


def _add_new(commands: _Commands[argparse.ArgumentParser]) -> None:
    new = commands.add_parser("new", help="write a commented description to start from")
    new.add_argument("file", type=Path, help="file to write, as in my-boat.yaml; an existing one is never replaced")
    new.add_argument("--boat", default="", help="the boat's name")
    new.add_argument("--units", choices=("mm", "in"), default="mm", help="unit of bare numbers (default mm)")
    new.set_defaults(run=cli_build.new)


def _add_check(commands: _Commands[argparse.ArgumentParser]) -> None:
    check = commands.add_parser("check", help="solve the boat and say what is wrong or worth knowing")
    _add_description(check)
    _add_json(check)
    check.set_defaults(run=cli_build.check)


def _add_make(commands: _Commands[argparse.ArgumentParser]) -> None:
    make = commands.add_parser("make", help="write the templates, the job sheet and the manifest, proved")
    make.add_argument(
        "description", type=Path, nargs="+", help="YAML description or handover PDF; several make a fleet"
    )
    _add_paper(make)
    make.add_argument("--printer", metavar="NAME", help="stored printer profile instead of the description's")
    make.add_argument("--processes", type=_processes, metavar="N", help="boats made at a time, for a fleet")
    make.add_argument("--out", type=Path, default=Path("out"), help="folder that gets one folder a boat (default out)")
    make.add_argument(
        "--only", action="append", default=[], metavar="SHEET", help="make this sheet only; may be repeated"
    )
    _add_json(make)
    make.set_defaults(run=cli_build.make)


def _add_schema(commands: _Commands[argparse.ArgumentParser]) -> None:
    schema = commands.add_parser("schema", help="print the JSON Schema of the description, for editors")
    schema.set_defaults(run=cli_build.schema)


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


def _add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON for other programs")


def _add_handover(commands: _Commands[argparse.ArgumentParser]) -> None:
    handover = commands.add_parser("handover", help="write the whole job as one PDF, the description inside")
    _add_description(handover)
    handover.add_argument("--to", type=Path, metavar="FILE", help="file to write (default <boat>-handover.pdf)")
    handover.add_argument("--readings", type=Path, action="append", default=[], help="readings file to put in as well")
    handover.add_argument("--replace", action="store_true", help="replace the file if it stands there already")
    handover.set_defaults(run=cli_share.handover)


def _add_unpack(commands: _Commands[argparse.ArgumentParser]) -> None:
    unpack = commands.add_parser("unpack", help="write the texts that a handover PDF carries, byte for byte")
    unpack.add_argument("file", type=Path, help="handover PDF")
    unpack.add_argument("--out", type=Path, default=Path(), help="folder to write to (default here)")
    unpack.add_argument("--replace", action="store_true", help="replace files that stand there already")
    unpack.set_defaults(run=cli_share.unpack)


def _add_compare(commands: _Commands[argparse.ArgumentParser]) -> None:
    compare = commands.add_parser("compare", help="say how two boats differ and whether A's templates serve B")
    compare.add_argument("a", type=Path, metavar="A", help="description or handover PDF of the boat with templates")
    compare.add_argument("b", type=Path, metavar="B", help="the same of the boat they would be used on")
    compare.add_argument("--tolerance", type=float, default=0.5, metavar="MM", help="how far a hole may lie off")
    compare.add_argument("--overlay", type=Path, metavar="FILE", help="write both floors over one another, PDF and SVG")
    compare.add_argument("--paper", help="paper of the overlay")
    _add_json(compare)
    compare.set_defaults(run=cli_share.compare)


def _add_proof(commands: _Commands[argparse.ArgumentParser]) -> None:
    proof = commands.add_parser("proof", help="read PDF and SVG back and say how true they are")
    proof.add_argument("files", type=Path, nargs="+", metavar="DIR|FILE", help="a boat's folder, or single files")
    proof.add_argument("--manifest", type=Path, help="manifest to hold them against (default: the one beside them)")
    _add_json(proof)
    proof.set_defaults(run=cli_paper.proof)


def _add_printer(commands: _Commands[argparse.ArgumentParser]) -> None:
    printer = commands.add_parser("printer", help="measure a printer and correct for it")
    parts = printer.add_subparsers(title="commands", metavar="COMMAND", required=True)
    page = parts.add_parser("page", help="write a page with the longest bars that the paper takes")
    page.add_argument("--to", type=Path, default=Path("printer-page.pdf"), metavar="FILE", help="file to write")
    page.set_defaults(run=cli_paper.printer_page)
    put = parts.add_parser("set", help="store a printer's profile from what was measured on its page")
    put.add_argument("name", help="name of the printer, for print: printer")
    put.add_argument("readings", nargs="+", metavar="BAR=LENGTH", help="across=180.2 along=260.1 rising=.. falling=..")
    put.set_defaults(run=cli_paper.printer_set)
    for one in (page, put):
        one.add_argument("--paper", default="A4", help="paper of the page (default A4)")
        one.add_argument("--margin", type=float, default=7.0, metavar="MM", help="margin of the page (default 7)")
    shown = parts.add_parser("list", help="list the stored profiles")
    shown.set_defaults(run=cli_paper.printer_list)
    for one in (put, shown):
        one.add_argument("--store", type=Path, metavar="DIR", help="folder of profiles instead of the user's own")
