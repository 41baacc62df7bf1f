"""The description to start from: every common key with what it means, in numbers of an invented boat."""

from __future__ import annotations

import json

_TEXT = """\
# {title}: what the program must know to draw templates for the runner plank.
# Change the numbers to those measured on your boat, then run the check. Text after a # is only for you.
# Bare numbers are in `units`; any length may carry its own unit: 231 mm, 9 in, 2 1/8 in, 1 ft 3 in.
boat: {boat}
units: {units}

issue: {{revision: A, drawn_by: the builder}}   # printed on every sheet

# Leave the whole section out if no class rule applies; then give fixing.settings.stations.
rule:
  runner_base:                   # along the hull, from the steering pivot axis to the side runners' pivot axis
    max: {max}                    # greatest distance of your class rule
    min: {min}                    # least distance; leave out if there is none
  keep_inside: {inside}                 # your own margin from the greatest distance

steering_post:
  diameter: {post}                 # of the post, where the tape's ring lies round it

floor:                           # the cockpit floor over the plank
  thickness: {floor}                # measure in a hole or at an edge, not from the order
  # Corners in order round the floor: [aft of the steering pivot axis, to starboard]; port is minus.
  outline: {outline}

plank:                           # the runner plank, lying free
  length: {length}                   # end to end along the upper face
  width: {width}                    # fore edge to aft edge
  thickness: {thick}                # where the bolts go through
  crown: {crown}                    # how far its middle stands above a straight line between the ends
  pivot_aft_of_bolts: {pivot}        # runners' pivot axis behind the bolt line; minus if ahead of it
  chock_corners:                 # the corners on the chocks that the tape is read to, both sides alike
    apart: {apart}                  # straight from corner to corner
    aft_of_bolts: {pivot}            # behind the bolt line
    below_floor: {below}             # below the floor's upper face
  # solid_at_bolts: {solid}           # diameter of the solid plug at the bolts, if the core is hollow or soft

fixing:
  half_spread: {half}               # from the centreline out to the bolts
  settings:                      # fore-and-aft positions of the plank
    count: 3
    pitch: {pitch}                  # from one to the next
    at_limit: aft                # aft: the aftmost at the rule's greatest distance; fore: the foremost at its least
  bolt: {{thread: {thread}, head: hexagon}}
  sleeve:                        # metal tube glued into the floor; leave out if there is none
    outer: {outer}
    inner: {inner}                 # the bolt passes through it
  plate:                         # metal plate on the floor that takes the bolt
    length: {plate_length}                # fore and aft
    width: {plate_width}                 # athwart
    thickness: {plate_thick}
    slot: {{length: {slot_length}, width: {slot_width}}}   # athwart, lets the plank be squared
    screws:
      diameter: {screw}
      length: {screw_length}
      # Places from the plate's centre: [aft, to starboard].
      first: {first}      # used when new
      second: {second}     # fresh wood for a replacement plate

# Any other holes in floor or plank; patterns are points, row, rectangle or circle.
fittings:
  - name: block base
    on: floor                    # or plank
    at: {at}
    pattern: {{rectangle: {rectangle}}}   # fore and aft, athwart
    drill: {drill}

print:
  paper: {paper}                  # or another size, or {{roll: width}}
  margin: {margin}                 # rim that your printer leaves blank
  overlap: {overlap}                # by how much the tiles lie on one another
  # figures: both                # how lengths are written: mm, in or both
  # fraction: 1/32               # what inches are rounded to: 1/16, 1/32, 1/64 or decimal

# cutting: {{kerf: 0}}           # width of the cut that outlines make up for; leave out if the shop sees to that

accuracy:                        # how well you work: you stay within twice these figures nearly always
  tape: {tape}                   # reading the tape
  seam: {seam}                   # joining two tiles
  punch: {punch}                 # punching a mark
  drill: {drilling}                  # drilling on it
"""

_MM = {
    "max": "2500", "min": "2330", "inside": "6", "post": "30", "floor": "15",
    "outline": "[[2120, -320], [2120, 320], [2600, 300], [2600, -300]]",
    "length": "2460", "width": "180", "thick": "36", "crown": "42", "pivot": "8", "apart": "2360", "below": "58",
    "solid": "26", "half": "205", "pitch": "72", "thread": "M8", "outer": "18", "inner": "9", "plate_length": "48",
    "plate_width": "78", "plate_thick": "3", "slot_length": "16", "slot_width": "8.5", "screw": "4.5",
    "screw_length": "16", "first": "[[-17, -31], [-17, 31], [17, -31], [17, 31]]",
    "second": "[[-17, -17], [-17, 17], [17, -17], [17, 17]]", "at": "[2200, 0]", "rectangle": "[40, 24]",
    "drill": "5", "paper": "A4", "margin": "7", "overlap": "15", "tape": "0.5", "seam": "0.2", "punch": "0.25",
    "drilling": "0.3",
}  # fmt: skip
_INCH = {
    "max": "98 1/2", "min": "92", "inside": "3/16", "post": "1 1/4", "floor": "5/8",
    "outline": "[[83, -12 1/2], [83, 12 1/2], [103, 12], [103, -12]]",
    "length": "97", "width": "7", "thick": "1 7/16", "crown": "1 5/8", "pivot": "5/16", "apart": "93", "below": "2 1/4",
    "solid": "1", "half": "8", "pitch": "2 1/2", "thread": "5/16 in", "outer": "5/8", "inner": "11/32",
    "plate_length": "1 7/8", "plate_width": "3", "plate_thick": "1/8", "slot_length": "5/8", "slot_width": "11/32",
    "screw": "0.164", "screw_length": "5/8", "first": "[[-0.66, -1.2], [-0.66, 1.2], [0.66, -1.2], [0.66, 1.2]]",
    "second": "[[-0.66, -0.66], [-0.66, 0.66], [0.66, -0.66], [0.66, 0.66]]", "at": "[86, 0]",
    "rectangle": "[1 1/2, 1]", "drill": "3/16", "paper": "Letter", "margin": "1/4", "overlap": "5/8", "tape": "0.02",
    "seam": "0.008", "punch": "0.01", "drilling": "0.012",
}  # fmt: skip


def starter_text(boat: str = "My boat", units: str = "mm") -> str:
    """Return a commented description that loads and passes the checks, in numbers of an invented boat.

    Args:
        boat: the boat's name; blanks around it are dropped, a longer one is cut to 40 characters.
        units: ``mm`` or ``in``.

    Raises:
        ValueError: if ``units`` is neither.
    """
    if units not in ("mm", "in"):
        raise ValueError(f"{units}: allowed: mm, in")
    name = "".join(letter if letter.isprintable() else " " for letter in boat).strip()[:40].strip() or "My boat"
    # A JSON string is a YAML string too (YAML 1.2.2, section 1.3), whatever signs the name holds.
    plain = name if name.replace(" ", "").isalnum() and name.isascii() and not name.isdigit() else _quoted(name)
    return _TEXT.format(title=name, boat=plain, units=units, **(_MM if units == "mm" else _INCH))


def _quoted(name: str) -> str:
    return json.dumps(name, ensure_ascii=False)
