"""What holds for every fit-up, whatever its figures."""

import json
import math
from contextlib import suppress

from fitup_boats import Builder, attempt, both, readings, whinchat
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.boat.solved import Side
from templater.findings import ReadingsError
from templater.fitup.misread import swapped
from templater.fitup.readings import load_readings
from templater.fitup.record import read_record, record, record_data
from templater.fitup.square import SquareResult, square
from templater.maths import fit_polynomial
from templater.pipeline.fitup import fitup_drawings
from templater.report.fitup import fitup_page

YAW = st.floats(-3.0, 3.0)
SIDE = st.sampled_from(Side)
NOISE = st.lists(st.floats(-1.0, 1.0), min_size=3, max_size=3)


def run(builder: Builder, port: list[float], starboard: list[float]) -> SquareResult:
    tape = both([builder.tape(Side.PORT) + e for e in port], [builder.tape(Side.STARBOARD) + e for e in starboard])
    turn = attempt(tape, builder.first)
    return square(turn, whinchat(), readings(turn))


@settings(max_examples=40, deadline=None)
@given(YAW, SIDE, st.floats(-16.0, 500.0))
def test_faultless_readings_give_back_what_was_put_in(yaw: float, first: Side, ring: float) -> None:
    result = run(Builder(yaw, first, ring=ring), [0.0], [0.0])
    assert abs(result.yaw - yaw) < 1e-8
    assert abs(result.ring - ring) < 1e-5


@settings(max_examples=30, deadline=None)
@given(YAW, SIDE, NOISE, NOISE, st.floats(-50, 50))
def test_a_longer_ring_changes_nothing_but_the_ring(
    yaw: float, first: Side, port: list[float], starboard: list[float], longer: float
) -> None:
    one = run(Builder(yaw, first, ring=60.0), port, starboard)
    other = run(Builder(yaw, first, ring=60.0 + longer), port, starboard)
    assert abs(one.yaw - other.yaw) < 1e-8
    assert abs(one.yaw_95 - other.yaw_95) < 1e-6
    assert abs(other.ring - one.ring - longer) < 1e-5


@settings(max_examples=30, deadline=None)
@given(YAW, SIDE, NOISE, NOISE)
def test_port_and_starboard_exchanged_turn_the_sign_of_the_yaw(
    yaw: float, first: Side, port: list[float], starboard: list[float]
) -> None:
    other = Side.PORT if first is Side.STARBOARD else Side.STARBOARD
    one = run(Builder(yaw, first), port, starboard)
    mirrored = run(Builder(-yaw, other), starboard, port)
    assert abs(one.yaw + mirrored.yaw) < 1e-8
    assert abs(one.yaw_95 - mirrored.yaw_95) < 1e-9
    assert abs(one.ends[0].aft - mirrored.ends[1].aft) < 1e-6


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(-1e3, 1e3), min_size=4, max_size=12), st.floats(-5, 5), st.floats(-1e3, 1e3))
def test_a_line_added_to_the_points_is_added_to_the_fit(ys: list[float], slope: float, offset: float) -> None:
    xs = [100.0 * n for n in range(len(ys))]
    one = fit_polynomial(list(zip(xs, ys, strict=True)))
    other = fit_polynomial([(x, y + offset + slope * x) for x, y in zip(xs, ys, strict=True)])
    for x in (-300.0, 0.0, 700.0):
        assert math.isclose(other.at(x), one.at(x) + offset + slope * x, abs_tol=1e-6)
    assert math.isclose(other.residual_sd, one.residual_sd, abs_tol=1e-6)


@given(st.from_regex(r"[0-9]{2,5}(\.[0-9])?", fullmatch=True))
def test_swapping_the_same_figures_again_gives_the_figure_back(text: str) -> None:
    for other in swapped(text):
        assert text in swapped(other)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=60) | st.from_regex(r"(square|shim|centreline): [{][a-z0-9:,\[\]\{\} ]{0,40}", fullmatch=True))
def test_any_text_is_read_or_refused_by_one_kind_of_error(text: str) -> None:
    # Anything else than ReadingsError fails the test by itself.
    with suppress(ReadingsError):
        assert load_readings(text, "r.yaml")


FIGURE = st.integers(0, 3000) | st.floats(0, 3000) | st.just(2590) | st.integers(-4, 20_001)
FIGURES = st.lists(FIGURE, min_size=1, max_size=3)
BOTH = st.fixed_dictionaries({"port": FIGURES, "starboard": FIGURES})
NAMES = st.fixed_dictionaries({"setting": st.integers(1, 4), "first_bolt": st.sampled_from(["port", "starboard"])})
POINT = st.fixed_dictionaries({"name": st.just("a"), "to": st.tuples(FIGURE, FIGURE).map(list)})
EDGE = st.fixed_dictionaries(
    {
        "name": st.just("b"),
        "edge": st.sampled_from(["fore", "aft"]),
        "line": st.sampled_from(["fore", "aft"]),
        "out": FIGURE,
    }
)
FURTHER = st.lists(st.tuples(POINT | EDGE, BOTH).map(lambda pair: {**pair[0], **pair[1]}), min_size=1, max_size=2)
MORE = st.fixed_dictionaries({}, optional={"off_centre": BOTH, "chock_aft": BOTH, "further": FURTHER})
NEAR = st.floats(2580, 2600)
TAPE = st.fixed_dictionaries({"port": st.lists(NEAR, min_size=1, max_size=3), "starboard": FIGURES | st.tuples(NEAR)})
SQUARE = st.tuples(NAMES, TAPE, MORE).map(lambda parts: {**parts[0], **parts[1], **parts[2]})
STATION = st.tuples(st.fixed_dictionaries({"at": FIGURE}), BOTH).map(lambda pair: {**pair[0], **pair[1]})
LINE = st.fixed_dictionaries({"stations": st.lists(STATION, min_size=3, max_size=7)}, optional={"post_offset": FIGURES})
SHIM = st.fixed_dictionaries(
    {},
    optional={
        "crown_gap": st.lists(st.fixed_dictionaries({"at": FIGURE, "gap": FIGURES}), min_size=1, max_size=6),
        "hull_bottom": st.lists(st.tuples(FIGURE, FIGURE).map(list), min_size=1, max_size=4),
        "tilt": st.fixed_dictionaries({"port": st.floats(-50, 50), "starboard": st.floats(-50, 50)}),
        "toe": st.fixed_dictionaries({"fore": FIGURE, "aft": FIGURE, "apart": FIGURE}),
        "seat": st.fixed_dictionaries({"length": FIGURE, "width": FIGURE}),
        "least": FIGURE,
    },
)


@settings(max_examples=80, deadline=None)
@given(st.fixed_dictionaries({}, optional={"square": SQUARE, "centreline": LINE, "shim": SHIM, "read_to": FIGURE}))
def test_whatever_the_figures_there_is_a_result_or_a_readings_error(data: dict[str, object]) -> None:
    boat = whinchat()
    with suppress(ReadingsError):
        whole = record(load_readings(json.dumps(data), "r.yaml")[0], boat)
        # Every number of a result can be told: none is endless or undefined but the degrees of freedom.
        text = json.dumps(record_data(whole), allow_nan=False)
        assert read_record(text, "r.json")["boat"] == "Whinchat 3"
        assert fitup_page(whole, boat)
        assert fitup_drawings(boat, whole) is not None
