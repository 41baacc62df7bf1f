"""What must hold for every stack, screw and hole."""

from hypothesis import given, settings
from hypothesis import strategies as st

from templater.boat.solve import solve
from templater.checks.wood import guides, movements
from templater.description.keys import (
    Bolt,
    Description,
    Fixing,
    Floor,
    Plank,
    Plate,
    Screws,
    Settings,
    Sleeve,
    Slot,
    SteeringPost,
    Wood,
)
from templater.job.fasteners import thread_in_wood
from templater.job.hardware import hardware
from templater.job.work import drilling, order_of_work
from templater.standards.fasteners import Bolt as MadeBolt
from templater.standards.fasteners import find_parts, thread_names
from templater.standards.wood import bit_sizes, bolt_spacing, nearest_bit


@settings(max_examples=50, deadline=None, derandomize=True)
@given(needed=st.floats(20, 75), thread=st.sampled_from(["M6", "M8", "M10"]))
def test_the_next_length_is_long_enough_and_no_stocked_one_between(needed: float, thread: str) -> None:
    bolt = find_parts(MadeBolt, "hexagon", thread)[0]
    if needed > bolt.lengths[-1]:
        return
    length = bolt.next_length(needed)
    assert length is not None
    assert length >= needed - 1e-6
    assert not [other for other in bolt.lengths if needed <= other < length]


@settings(max_examples=50, deadline=None, derandomize=True)
@given(length=st.floats(8, 60), plate=st.floats(1, 6), floor=st.floats(6, 30))
def test_thread_in_the_wood_is_never_more_than_thread_or_floor(length: float, plate: float, floor: float) -> None:
    held = thread_in_wood(length, plate, floor, 0.6)
    assert 0 <= held <= min(0.6 * length, floor) + 1e-9
    # A thinner floor never holds more.
    assert thread_in_wood(length, plate, floor - 1, 0.6) <= held + 1e-9


@settings(max_examples=50, deadline=None, derandomize=True)
@given(wanted=st.floats(3, 12.5), system=st.sampled_from(["mm", "in"]))
def test_a_bit_taken_exists_and_lies_on_the_wanted_side(wanted: float, system: str) -> None:
    sizes = bit_sizes("twist drill", system)
    up = nearest_bit("twist drill", wanted, system, up=True)
    near = nearest_bit("twist drill", wanted, system)
    assert {up.diameter, near.diameter} <= set(sizes)
    assert wanted <= up.diameter + 0.01
    assert not [size for size in sizes if wanted <= size < up.diameter]
    assert abs(near.diameter - wanted) == min(abs(size - wanted) for size in sizes)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(diameter=st.floats(5, 20), angle=st.floats(0, 90))
def test_spacings_grow_with_the_bolt(diameter: float, angle: float) -> None:
    one, other = bolt_spacing(diameter, angle), bolt_spacing(diameter + 1, angle)
    for name in ("across", "edge"):
        assert getattr(other, name) > getattr(one, name)


@st.composite
def descriptions(draw: st.DrawFn) -> Description:
    """Draw boats of any parts and sizes, sensible or not."""
    some = st.floats(0.5, 80)
    places = st.lists(st.tuples(st.floats(-40, 40), st.floats(-40, 40)), max_size=4).map(tuple)
    slot = st.none() | st.builds(Slot, length=some, width=some)
    screws = st.none() | st.builds(
        Screws, diameter=st.floats(1, 12), length=some, first=places.filter(bool), second=places,
        head_diameter=st.none() | some,
    )  # fmt: skip
    thickness = st.floats(0.5, 8)
    plate = st.none() | st.builds(Plate, length=some, width=some, thickness=thickness, slot=slot, screws=screws)
    bolt = st.builds(
        Bolt,
        thread=st.sampled_from(thread_names()),
        head=st.sampled_from(["hexagon", "socket", "countersunk"]),
        nut=st.sampled_from(["plain", "locking", "thin locking"]),
        washer=st.sampled_from(["normal", "large"]),
        hole=st.none() | some,
        length=st.none() | some,
    )
    species = st.none() | st.sampled_from(["white ash", "birch plywood"])
    woods = st.builds(Wood, species=species, specific_gravity=st.none() | st.floats(0.2, 0.9))
    return Description(
        boat="Any",
        units=draw(st.sampled_from(["mm", "in"])),
        steering_post=SteeringPost(diameter=30),
        floor=Floor(thickness=draw(st.sampled_from([6.5, 9, 12, 14]) | st.floats(2, 40)), wood=draw(woods)),
        plank=Plank(
            length=2000, width=draw(st.floats(20, 250)), thickness=draw(some), crown=20, pivot_aft_of_bolts=0,
            solid_at_bolts=draw(st.none() | some),
        ),
        fixing=Fixing(
            half_spread=200, settings=Settings(stations=(2000.0, 2060.0)), bolt=draw(bolt),
            sleeve=draw(st.none() | st.builds(Sleeve, outer=some, inner=some)), plate=draw(plate),
            shim=draw(st.floats(0, 5)), block=draw(st.floats(0, 50)),
        ),
    )  # fmt: skip


@settings(max_examples=60, deadline=None, derandomize=True)
@given(description=descriptions())
def test_any_boat_gets_its_rows_or_findings_never_a_traceback(description: Description) -> None:
    boat = solve(description)
    made = hardware(boat)
    assert all(finding.code.startswith("H1") and "\n" not in finding.text for finding in made.findings)
    wooden = [hole_id for row in drilling(boat) if row.part != "plate" for hole_id in row.ids]
    assert sorted(wooden) == sorted(hole.id for hole in boat.holes)
    assert list(movements(boat))
    assert guides(boat)
    assert order_of_work(boat)
    if made.bolt is not None and description.fixing.bolt.length is None:
        assert made.bolt.length >= made.bolt.needed - 1e-6
    # A thicker plank never takes a shorter bolt.
    thicker = hardware(solve(description.changed(plank=description.plank.changed(thickness=80)))).bolt
    if made.bolt is not None and thicker is not None:
        assert thicker.length >= made.bolt.length
