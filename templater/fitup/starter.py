"""A commented readings file to start from."""

from __future__ import annotations

from templater.boat.solved import Boat
from templater.fitup.square import DEFAULT_TAPE_SD
from templater.units import MM_PER_INCH, mm_text


def starter_readings(boat: Boat) -> str:
    """Return a readings file for this boat: all sections with comments, the figures still to be filled in."""
    description = boat.description
    inch = description.units == "in"

    def figure(value: float) -> str:
        """A bare number in the description's units."""
        return (f"{value / MM_PER_INCH:.3f}".rstrip("0").rstrip(".") or "0") if inch else mm_text(value)

    def told(value: float) -> str:
        """A figure of a comment, in inches as the tape shows it too."""
        return f"{figure(value)} ({description.figures.inches(value)})" if inch else figure(value)

    setting = boat.fitted
    tapes = "\n".join(
        f"  #   setting {item.setting}: {told(item.slant)} from the steering post's axis, "
        f"{told(item.slant_from_post)} from its surface"
        for item in boat.tape
    )
    spread = description.fixing.half_spread
    tape_sd = description.accuracy.tape or DEFAULT_TAPE_SD
    # Whole inches are quicker found along the hull than thousandths.
    whole = MM_PER_INCH if inch else 0.1
    rows = "\n".join(
        f"    - {{at: {figure(round(setting.station * part / whole) * whole)}, port: [], starboard: []}}"
        for part in (0.2, 0.4, 0.6, 0.8, 1.0)
    )
    # Column 35 keeps the comments in line.
    read_to = f"{'read_to: 1/32 in' if inch else 'read_to: 0.5 mm':<35}"
    tolerance = f"{'  tolerance: 1/32 in' if inch else '  tolerance: 1 mm':<35}"
    least = f"{'  least: 1/16 in' if inch else '  least: 2 mm':<35}"
    tape = f"{f'tape: {tape_sd:g} mm':<35}"
    return f"""\
# Readings taken at fit-up. Put your figures between the brackets, as in [2591, 2590.5, 2591]; [] is not measured yet.
# Bare numbers are in `units:`; any length may carry its own unit, such as 9 in, 2 1/8 in or 231 mm.
# Read the same edge of the tape, at even tension, three times or more on each side, lifting the tape in between.
boat: {_quoted(description.boat)}
units: {description.units}
date: ""                           # YYYY-MM-DD
{read_to}# the smallest step you read off the tape
{tape}# standard deviation of one reading, used where repeats are too few

centreline:                        # half breadths from a trial line outwards, at five stations or more
  stations:                        # at: aft of the steering pivot axis
{rows}
  # With a line stretched beside the hull: {{at: .., port_edge: [], starboard_edge: []}}, starboard positive.
  post_offset: []                  # middle of the steering post to starboard of the trial line

square:                            # ring round the steering post, tape to both chock corners
  # A true boat reads, less what the ring takes up:
{tapes}
{tolerance}# allowed on starboard less port{", 0.8 mm" if inch else ""}
  setting: {setting.number}                       # 1 is foremost
  first_bolt: port                 # the side whose bolt is in; the other end is free
  ring: unknown                    # same for both sides, so it drops out; or post's axis to the tape's nought
  attempts:                        # add one after each move; the last counts
    - date: ""
      note: ""
      port: []
      starboard: []
      # More than is needed makes the result surer and shows an off-centre plank:
      # off_centre: {{port: [], starboard: []}}   # hull centreline to each chock corner along the plank
      # further:
      #   - {{name: chock to stern corner, to: [station, half breadth], port: [], starboard: []}}
      #   - {{name: plank edge to bulkhead, edge: fore, out: half breadth, line: fore, port: [], starboard: []}}
  # chock_aft: {{port: [], starboard: []}}        # plank's bolt line to each chock corner, aft positive

shim:                              # plank loose under the hull, crown touching
  # crown_gap:                     # gap at four places or more along the plank, starboard positive
  #   - {{at: {figure(-spread)}, gap: []}}
  # hull_bottom: [[y, rise], ..]   # leave out for a flat bottom
  tilt: {{port: [], starboard: []}}   # angle gauge on the plank at each seat, degrees, fore edge high positive
  # toe: {{fore: [], aft: [], apart: ..}}   # between the runners, fore and aft of the pivot axis
  # seat: {{length: .., width: ..}}         # fore and aft, and along the plank
{least}# thickness at the thinnest place
"""


def _quoted(text: str) -> str:
    """Return a name as a YAML double-quoted scalar."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
