"""The drilling table of the demo boat, every number reckoned by hand in the comments."""

import pytest
from bench_demo import DEMO, PLATE, demo, with_floor

from templater.boat.solve import solve
from templater.boat.solved import Boat
from templater.description.keys import (
    Bolt,
    Fitting,
    Pattern,
    Print,
    Settings,
    Sleeve,
    Surface,
    Wood,
)
from templater.job.work import DrillingRow, cautions, drilling, order_of_work, screw_pilot
from templater.report.job_sheet import drilling_ways

SECOND_HOLE = "second bolt in the plank, marked at fit-up"


def row(boat: Boat, title: str) -> DrillingRow:
    return next(each for each in drilling(boat) if each.title == title)


def test_every_hole_of_the_boat_has_its_row() -> None:
    boat = demo()
    listed = [each for table in drilling(boat) if table.part != "plate" for each in table.ids]
    assert sorted(listed) == sorted(hole.id for hole in boat.holes)


def test_sleeve_holes() -> None:
    # 3 settings x 2 sides. 18 mm is a flat-bottomed size; the point of a bit set to the floor's 14 just shows above,
    # its rim is then 3 mm (the point, from memory) short: that web is taken from above.
    sleeves = row(demo(), "sleeves in the floor")
    assert sleeves.ids == ("P1", "S1", "P2", "S2", "P3", "S3")
    assert sleeves.pilot is not None
    assert (sleeves.pilot.size, sleeves.final.size, sleeves.final.kind) == ("3 mm", "18 mm", "flat-bottomed bit")
    assert (sleeves.start, sleeves.finish, sleeves.depth_stop) == ("under", "upper", 14)
    assert any(note.startswith("about 3 mm is left whole") for note in sleeves.notes)
    assert sleeves.difference == 0


def test_a_thinner_floor_moves_the_depth_stops() -> None:
    # Sleeve: 14 to 9. Screw pilot in the wood: the least of 18 - 3 = 15 and 14 - 2 = 12; of 15 and 9 - 2 = 7. It is
    # drilled through the plate of 3, so the stop counts from the plate's face.
    assert row(with_floor(9), "sleeves in the floor").depth_stop == 9
    assert row(demo(), "plate screws, first set").depth_stop == 15
    assert row(with_floor(9), "plate screws, first set").depth_stop == 10


def test_sleeve_of_a_size_between_bits() -> None:
    # 18 + 0.4 = 18.4: flat-bottomed bits go 18, 20 and hole saws 17, 19: the next that is not smaller is 19, + 0.6.
    glued = row(demo(sleeve=Sleeve(outer=18, inner=10, glue_gap=0.4)), "sleeves in the floor")
    assert (glued.final.kind, glued.final.size) == ("hole saw", "19 mm")
    assert glued.difference == pytest.approx(0.6)
    assert any("0.50 mm all round" in note for note in glued.notes)


def test_plate_screw_pilots() -> None:
    # 0.7 x 2/3 x 4.5 = 2.1; the nearest common bit is 2.0, 0.1 less. 6 plates x 4.
    first = row(demo(), "plate screws, first set")
    assert (len(first.ids), first.final.size) == (24, "2 mm")
    assert first.wanted == pytest.approx(2.1)
    assert first.difference == pytest.approx(-0.1)
    assert any("70 % of the thread's root" in note for note in first.notes)
    assert first.start == "upper"
    assert len(row(demo(), "plate screws, second set (fresh wood)").ids) == 24


def test_pilots_in_hardwood() -> None:
    # FPL Wood Handbook, chapter 8 (percentages from memory): 90 % of the root, 0.9 x 2/3 x 4.5 = 2.7, nearest 2.5.
    assert screw_pilot(4.5, 0.60)[0] == pytest.approx(2.7)
    assert screw_pilot(4.5, 0.40)[0] == pytest.approx(2.1)
    ash = solve(DEMO.changed(floor=DEMO.floor.changed(wood=Wood(species="white ash"))))
    assert row(ash, "plate screws, first set").final.size == "2.5 mm"
    assert any("hardwood" in note for note in row(ash, "plate screws, first set").notes)


def test_screw_holes_in_the_plates() -> None:
    # Hole 4.5, head 9: cone (9 - 4.5) / 2 = 2.25 deep. First set only; 4 spare plates x 4 take the second.
    plates = row(demo(), "screw holes in the plates")
    assert (len(plates.ids), plates.final.size, plates.countersink) == (24, "4.5 mm", 9)
    assert plates.countersink_deep == pytest.approx(2.25)
    assert any("16 more holes" in note for note in plates.notes)


def test_bolt_holes_in_the_plank() -> None:
    # Arc of 2390 with rise 38: chord 2388.39, radius 2388.39^2 / 304 + 19 = 18 783; bolt 215 out: asin(215 / 18 783)
    # = 0.656 degrees. Plug 24 with hole 8: (24 - 8) / 2 = 8 all round.
    plank = row(demo(), "first bolt in the plank")
    assert plank.pilot is not None
    assert (plank.ids, plank.pilot.size, plank.final.size) == (("KP",), "3 mm", "8 mm")
    # ISO 273: 8.4 fine, 9 medium.
    assert any("8.4 mm (fine) or 9 mm (medium); this hole is 8 mm" in note for note in plank.notes)
    assert any("0.66° from plumb" in note for note in plank.notes)
    assert any("24 mm across: 8 mm of it stays all round" in note for note in plank.notes)
    assert (plank.start, plank.finish) == ("upper", "under")


def test_fittings() -> None:
    fitting = row(demo(), "block base")
    assert (len(fitting.ids), fitting.final.size, fitting.ids) == (4, "5 mm", ("A1", "A2", "A3", "A4"))


def test_habits_that_are_common_practice_without_a_source() -> None:
    # Common practice, no source: pilot 3 then 8; the exit side started first; sleeves from below, finished from above;
    # screws nine tenths by machine; bolts from above.
    text = " ".join(step.text for step in order_of_work(demo()))
    for said in ("KP: 3 mm, then 8 mm", "start the exit side first", "nine tenths by machine", "go in from above",
                 "from below, depth stop 14 mm from the bit's point"):  # fmt: skip
        assert text.count(said) == 1, said


def test_inch_bits_say_the_difference() -> None:
    # A metric M8 bolt drilled with inch bits: 5/16 is 7.9375, too small for it; the next, 21/64, is 8.334, + 0.334.
    boat = solve(DEMO.changed(units="in"))
    plank = row(boat, "first bolt in the plank")
    assert plank.final.size == "21/64 in"
    assert plank.difference == pytest.approx(0.334, abs=1e-3)
    assert plank.pilot is not None
    assert plank.pilot.size == "1/8 in"
    # A 5/16 bolt takes 5/16 exactly. 18 mm sleeves: 11/16 is 17.46, too small; 3/4 is 19.05, + 1.05.
    exact = solve(DEMO.changed(units="in", fixing=DEMO.fixing.changed(bolt=Bolt(thread="5/16 in"))))
    assert row(exact, "first bolt in the plank").difference == pytest.approx(0)
    assert row(boat, "sleeves in the floor").difference == pytest.approx(1.05)


def test_the_under_face_is_named_where_the_sheet_lies_there() -> None:
    boat = solve(DEMO.changed(print=Print(floor_face="under")))
    assert row(boat, "block base").start == "under"
    assert any(
        step.text.startswith("Drill 3 mm") and "from the under face" in step.text for step in order_of_work(boat)
    )
    assert any("mirror image" in step.text for step in order_of_work(boat))


def test_a_floor_without_sleeves() -> None:
    bolts = row(demo(sleeve=None), "bolts in the floor")
    assert (bolts.final.size, bolts.start, bolts.finish) == ("8 mm", "upper", "under")


def test_the_second_hole_is_marked_through_what_lies_above_it() -> None:
    # Common practice, no source: one hole on the bench, the other through the floor's own sleeve once the tapes agree.
    second = row(demo(), SECOND_HOLE)
    assert second.ids == ("KS",)
    for boat, through in ((demo(), "own sleeve S3"), (demo(sleeve=None), "own hole S3")):
        texts = [step.text for step in order_of_work(boat)]
        read, mark = (next(n for n, text in enumerate(texts) if said in text) for said in ("read both tapes", through))
        assert read < mark


def test_the_order_of_work_runs_from_paper_to_bolt() -> None:
    steps = order_of_work(demo())
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    words = ["ask the measurer", "Print every sheet", "templater centreline", "Tape the floor sheet",
             "Prick every hole", "Drill 3 mm right through", "Bore 18 mm", "Glue the sleeves",
             "Do not screw it down yet",
             "Tape the plank sheet",
             "the one bolt hole, KP", "on one bolt, through P3 and KP", "templater shim", "Loop two tapes",
             "templater square", "Clamp the plank", "own sleeve S3.", "middle of what was marked",
             "Bolt the plank", "Tighten the nuts", "Read both tapes again", "Run the screws in",
             "Try each other setting",
             "Pack the spares"]  # fmt: skip
    places = [next(step.number for step in steps if word in step.text) for word in words]
    assert places == sorted(places)


def test_steps_carry_their_figures() -> None:
    # By hand: sqrt(2346^2 + 1145^2) less the post's radius of 16, and 60 below: 2595.21.
    text = " ".join(step.text for step in order_of_work(demo()))
    for part in ("P1 to S1 430.0 mm", "stop 14 mm", "line at setting 3, 2340.0 mm aft",
                 "6 sleeves 14 mm", "stop at 15 mm", "1195.0 mm from each end",
                 "87.5 mm from the fore edge", "2595.2 mm from the post's surface",
                 "2496.8 mm at setting 1"):  # fmt: skip
        assert part in text


def test_the_plank_s_pricks_are_those_that_are_drilled_there() -> None:
    eye = Fitting(name="eye", on=Surface.PLANK, at=(0.0, 450.0), drill=5.0, pattern=Pattern(points=((0.0, 0.0),)))
    for changes, said in (
        ({}, "Prick KP only; KS is a place to expect"),
        ({"fittings": (eye,)}, "Prick KP and the fittings' holes; KS is a place to expect"),
        ({"plank": DEMO.plank.changed(second_hole="template")}, "Prick both bolt holes. Take"),
        ({"fittings": (eye,), "plank": DEMO.plank.changed(second_hole="template")},
         "Prick both bolt holes and the fittings' holes. Take"),
    ):  # fmt: skip
        texts = [step.text for step in order_of_work(solve(DEMO.changed(**changes)))]
        assert sum(said in text for text in texts) == 1, said
        assert sum("Take the paper off" in text for text in texts) == 2


@pytest.mark.parametrize(("length", "shows"), [(16.0, False), (17.0, False), (18.0, True)])
def test_points_that_come_out_under_the_plank_are_filed_flush(length: float, *, shows: bool) -> None:
    # By hand: through a plate of 3 mm a screw of 17 just reaches the under face of a floor of 14; one of 18 stands out.
    assert PLATE.screws is not None
    boat = demo(plate=PLATE.changed(screws=PLATE.screws.changed(length=length)))
    text = " ".join(step.text for step in order_of_work(boat))
    assert text.count("file the screws' points flush") == text.count("file their points flush") == shows


def test_no_step_speaks_of_what_the_boat_does_not_have() -> None:
    bare = solve(
        DEMO.changed(rule=None, plank=DEMO.plank.changed(crown=0.0, solid_at_bolts=None, chock_corners=None),
                fixing=DEMO.fixing.changed(sleeve=None, plate=None, settings=Settings(stations=(2300.0,))))
    )  # fmt: skip
    text = " ".join(step.text for step in order_of_work(bare, seams=False)).lower().replace("templater", "")
    for word in ("sleeve", "screw", "slot", "plate", "setting", "seam", "class rule and", "crown", "plug", "shim",
                 "mirror"):  # fmt: skip
        assert word not in text, word


def test_every_caution_is_told_once_where_it_matters_and_has_a_source() -> None:
    told = [caution.id for step in order_of_work(demo()) for caution in step.cautions]
    assert sorted(told) == sorted(cautions())
    assert all(caution.source and caution.text.endswith(".") for caution in cautions().values())
    # UK Health and Safety Executive, wood dust: 3 mg/m3 hardwood, 5 mg/m3 softwood, mixtures as hardwood.
    assert "3 mg/m3 for hardwood and mixtures, 5 mg/m3 for softwood" in cautions()["dust"].text


def test_a_hole_that_no_bit_cuts_takes_the_nearest_and_says_so() -> None:
    # 0.7 x 2/3 x 2 = 0.93 mm; the least inch twist drill is 1/16 = 1.5875. The greatest hole saw is 76 mm.
    plate = PLATE.changed(screws=PLATE.screws.changed(diameter=2.0)) if PLATE.screws else PLATE
    fine = solve(DEMO.changed(units="in", fixing=DEMO.fixing.changed(plate=plate)))
    assert row(fine, "plate screws, first set").difference == pytest.approx(1.5875 - 0.9333, abs=1e-3)
    wide = row(demo(sleeve=Sleeve(outer=90, inner=10)), "sleeves in the floor")
    assert (wide.final.size, wide.difference) == ("76 mm", -14)


def test_a_plate_without_screws_needs_no_screw_rows() -> None:
    titles = [each.title for each in drilling(demo(plate=PLATE.changed(screws=None)))]
    assert titles == ["sleeves in the floor", "first bolt in the plank", SECOND_HOLE, "block base"]


def test_by_template_both_holes_are_drilled_on_the_bench() -> None:
    boat = solve(DEMO.changed(plank=DEMO.plank.changed(second_hole="template")))
    assert row(boat, "bolts in the plank").ids == ("KP", "KS")
    text = " ".join(step.text for step in order_of_work(boat))
    assert "drill both bolt holes here on the bench" in text
    assert "Mark the second hole" not in text
    assert "put both bolts in" in text


def test_only_the_second_of_a_kind_is_told_by_the_first() -> None:
    eye = Fitting(name="eye", on=Surface.PLANK, at=(0.0, 0.0), pattern=Pattern(points=((0.0, 0.0),)), drill=5.0)
    boat = solve(DEMO.changed(fittings=(eye,)))
    ways = {way.partition(":")[0]: way for way in drilling_ways(drilling(boat))}
    assert ways["Second bolt in the plank, marked at fit-up"].endswith("The rest as for first bolt in the plank.")
    assert "The rest as for" not in ways["Eye"]
    assert "exit side first" in ways["Eye"]
