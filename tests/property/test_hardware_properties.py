"""What must hold for every stack, screw and hole."""

from hypothesis import given, settings
from hypothesis import strategies as st

from templater.bench.plate_screws import thread_in_wood
from templater.standards.bits import bit_sizes, nearest_bit
from templater.standards.bolts import find_bolt, smooth_shank, thread_length
from templater.standards.spacing import bolt_spacing


@settings(max_examples=50, deadline=None)
@given(needed=st.floats(20, 75), thread=st.sampled_from(["M6", "M8", "M10"]))
def test_the_next_length_is_long_enough_and_no_stocked_one_between(needed: float, thread: str) -> None:
    bolt = find_bolt("hexagon", thread)
    if needed > bolt.lengths[-1]:
        return
    length = bolt.next_length(needed)
    assert length >= needed - 1e-6
    assert not [other for other in bolt.lengths if needed <= other < length]
    assert 0 <= smooth_shank(bolt, length) <= length - thread_length(bolt, length)


@settings(max_examples=50, deadline=None)
@given(length=st.floats(8, 60), plate=st.floats(1, 6), floor=st.floats(6, 30))
def test_thread_in_the_wood_is_never_more_than_thread_or_floor(length: float, plate: float, floor: float) -> None:
    held = thread_in_wood(length, plate, floor, 0.6)
    assert 0 <= held <= min(0.6 * length, floor) + 1e-9
    # A thinner floor never holds more.
    assert thread_in_wood(length, plate, floor - 1, 0.6) <= held + 1e-9


@settings(max_examples=50, deadline=None)
@given(wanted=st.floats(3, 12.5), system=st.sampled_from(["mm", "in"]))
def test_a_bit_taken_exists_and_lies_on_the_wanted_side(wanted: float, system: str) -> None:
    sizes = bit_sizes("twist drill", system)
    up = nearest_bit("twist drill", wanted, system, round_to="up")
    down = nearest_bit("twist drill", wanted, system, round_to="down")
    near = nearest_bit("twist drill", wanted, system)
    assert {up.diameter, down.diameter, near.diameter} <= set(sizes)
    assert down.diameter - 0.01 <= wanted <= up.diameter + 0.01
    assert abs(near.diameter - wanted) == min(abs(size - wanted) for size in sizes)


@settings(max_examples=30, deadline=None)
@given(diameter=st.floats(5, 20), angle=st.floats(0, 90))
def test_spacings_grow_with_the_bolt(diameter: float, angle: float) -> None:
    one, other = bolt_spacing(diameter, angle), bolt_spacing(diameter + 1, angle)
    for name in ("along", "across", "end_free", "edge_loaded", "edge_free"):
        assert getattr(other, name) > getattr(one, name)
