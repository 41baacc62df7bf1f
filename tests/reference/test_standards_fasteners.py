"""Tables of bolts, nuts and washers against an open data set and against figures retyped from published tables."""

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from templater.standards.fasteners import (
    Bolt,
    Lengths,
    Nut,
    Washer,
    find_parts,
    find_thread,
    thread_length,
    thread_names,
)
from templater.standards.tables import FOLDER, read_table

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    lines = [line for line in (DATA / f"{name}.csv").read_text("utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def by_thread(name: str) -> dict[str, dict[str, str]]:
    """The data set's rows under our thread names: M8-1.25 is M8, 5/16-18 is 5/16 in."""
    found = {}
    for row in rows(name):
        thread = row["Size"].split("-")[0]
        found[thread if thread.startswith("M") else f"{thread} in"] = row
    return found


def mm(thread: str, text: str) -> float:
    return float(Fraction(text)) * (1 if thread.startswith("M") else 25.4)


def published(figure: str) -> list[tuple[str, float]]:
    found = [(row["thread"], float(row["value"])) for row in rows("published_fasteners") if row["figure"] == figure]
    assert found, figure
    return found


def test_pitches_are_those_in_the_data_sets_size_keys() -> None:
    keys = [row["Size"] for row in rows("dataset_socket_head_cap_parameters")]
    assert len(keys) == len(thread_names())
    for key in keys:
        size, pitch = key.split("-")
        if size.startswith("M"):
            assert find_thread(size).nominal == float(size[1:])
            assert find_thread(size).pitch == float(pitch)
        else:
            assert find_thread(f"{size} in").nominal == pytest.approx(float(Fraction(size)) * 25.4)
            assert find_thread(f"{size} in").pitch == pytest.approx(25.4 / int(pitch))


def test_clearance_holes_agree_with_the_data_set_except_m12() -> None:
    for thread, row in by_thread("dataset_clearance_hole_sizes").items():
        ours = [getattr(find_thread(thread), series) for series in ("fine", "medium", "coarse")]
        theirs = [mm(thread, row[column]) for column in ("Close", "Normal", "Loose")]
        if thread == "M12":
            # Two published tables that cite ISO 273 have 13.5 and 14.5; the data set's 14 and 15 stand alone.
            assert theirs == [13, 14, 15]
            assert ours == [13, 13.5, 14.5]
        else:
            assert ours == pytest.approx(theirs)


@pytest.mark.parametrize("series", ["fine", "medium", "coarse"])
def test_clearance_holes_agree_with_the_published_table(series: str) -> None:
    for thread, value in published(f"clearance {series}"):
        assert getattr(find_thread(thread), series) == value


def test_hexagon_bolts_agree_with_the_data_set() -> None:
    data = by_thread("dataset_hex_head_parameters")
    for full, name in ((False, "iso4014"), (True, "iso4017")):
        for thread in ("M5", "M6", "M8", "M10", "M12"):
            bolt, row = find_parts(Bolt, "hexagon", thread)[full], data[thread]
            assert bolt.across == float(row[f"{name}:s"])
            assert bolt.height == float(row[f"{name}:k"])
            assert bolt.lengths[0] == float(row[f"{name}:short"])
            assert bolt.lengths[-1] == float(row[f"{name}:long"])


def test_socket_and_countersunk_screws_agree_with_the_data_set() -> None:
    sockets, sunk = by_thread("dataset_socket_head_cap_parameters"), by_thread("dataset_countersunk_head_parameters")
    for thread in ("M5", "M6", "M8", "M10", "M12"):
        socket, row = find_parts(Bolt, "socket", thread)[0], sockets[thread]
        assert (socket.height, socket.key) == (float(row["iso4762:k"]), float(row["iso4762:s"]))
        # The data set has the knurled head, 0.22 to 0.27 mm larger than the plain one.
        assert 0.2 < float(row["iso4762:dk"]) - socket.across < 0.35
        assert (socket.lengths[0], socket.lengths[-1]) == (float(row["iso4762:short"]), float(row["iso4762:long"]))
        flat, row = find_parts(Bolt, "countersunk", thread)[0], sunk[thread]
        # The data set's iso10642 columns hold DIN 7991 heads. A cone of 90 degrees to a sharp edge is (dk - d) / 2
        # high; M8: 17.92 and 4.96 (ISO 10642:2004, from memory), so no real head is larger.
        assert flat.height == pytest.approx((flat.across - find_thread(thread).nominal) / 2)
        assert flat.across > float(row["iso10642:dk"])
        assert flat.height > float(row["iso10642:k"])
        assert (flat.lengths[0], flat.lengths[-1]) == (float(row["iso10642:short"]), float(row["iso10642:long"]))
    for thread in ("1/4 in", "5/16 in", "3/8 in"):
        socket, row = find_parts(Bolt, "socket", thread)[0], sockets[thread]
        assert socket.across == pytest.approx(mm(thread, row["asme_b18.3:dk"]))
        assert socket.height == pytest.approx(mm(thread, row["asme_b18.3:k"]))
        assert socket.key == pytest.approx(mm(thread, row["asme_b18.3:s"]))


def test_cross_recess_heads_are_not_the_older_ones_of_the_data_set() -> None:
    # The data set's iso7046 columns hold DIN 965 heads; ISO 7046-1 has 9.3, 11.3, 15.8 and 18.3 (from memory).
    data = by_thread("dataset_countersunk_head_parameters")
    for thread, older, ours in (("M5", 9.2, 9.3), ("M6", 11, 11.3), ("M8", 14.5, 15.8), ("M10", 18, 18.3)):
        assert float(data[thread]["iso7046:dk"]) == older
        assert find_parts(Bolt, "cross recess", thread)[0].across == ours
        assert "across" in find_parts(Bolt, "cross recess", thread)[0].memory


def test_preferred_lengths_agree_with_the_data_set() -> None:
    data = {row["Screw_Type"]: row["Nominal_Sizes"] for row in rows("dataset_nominal_screw_lengths")}
    for row in read_table("bolt_lengths", Lengths):
        if row.standard.startswith("ISO"):
            name = row.standard.replace("ISO ", "iso").removesuffix("-1")
            assert list(row.lengths) == [float(length) for length in data[name].split(",") if float(length) <= 200]


def test_an_unknown_thread_is_told_what_is_known_each_once() -> None:
    with pytest.raises(KeyError) as caught:
        find_parts(Bolt, "hexagon", "M3")
    known = caught.value.args[0].partition("known are ")[2].split(", ")
    assert {"M5", "M12", "3/8 in"} <= set(known)
    assert len(known) == len(set(known))


def test_washers_agree_with_the_data_set() -> None:
    data = by_thread("dataset_plain_washer_parameters")
    for kind, name in (("normal", "iso7089"), ("large", "iso7093"), ("extra large", "iso7094")):
        for thread in ("M5", "M6", "M8", "M10", "M12"):
            washer, row = find_parts(Washer, kind, thread)[0], data[thread]
            theirs = [float(row[f"{name}:{column}"]) for column in ("d1", "d2", "h")]
            # The data set's h is the greatest thickness.
            assert [washer.inner, washer.outer, washer.thickest] == theirs
            assert washer.thinnest <= washer.thickness <= washer.thickest


def test_washer_thicknesses_agree_with_the_published_tables() -> None:
    for thread, value in published("normal washer thickness"):
        assert find_parts(Washer, "normal", thread)[0].thickness == value
    for kind in ("normal", "large"):
        for thread, value in published(f"{kind} washer thinnest"):
            assert find_parts(Washer, kind, thread)[0].thinnest == value


def test_nuts_agree_with_the_data_set_except_the_older_widths() -> None:
    data = by_thread("dataset_hex_nut_parameters")
    for thread in ("M5", "M6", "M8", "M10", "M12"):
        plain, thin, row = find_parts(Nut, "plain", thread)[0], find_parts(Nut, "thin", thread)[0], data[thread]
        assert (plain.height, plain.across) == (float(row["iso4032:m"]), float(row["iso4032:s"]))
        assert thin.height == float(row["iso4035:m"])
        # 17 and 19 are DIN widths; ISO 4035 has 16 and 18, as ISO 4032 has.
        assert thin.across == plain.across
        assert float(row["iso4035:s"]) - thin.across == (1 if thread in ("M10", "M12") else 0)


def test_locking_nuts_agree_with_the_published_table() -> None:
    for thread, value in published("locking nut height"):
        assert find_parts(Nut, "locking", thread)[0].height == value


def test_the_widest_of_a_hexagon_is_its_sharp_corners() -> None:
    # s / cos 30 degrees: 11.547, 15.011, 18.475 for 10, 13, 16. The published figures are the least that must be met.
    for thread, value in (("M6", 11.547), ("M8", 15.011), ("M10", 18.475)):
        assert find_parts(Bolt, "hexagon", thread)[0].widest == pytest.approx(value, abs=1e-3)
    for thread, value in published("corners"):
        assert find_parts(Bolt, "hexagon", thread)[0].widest > value


def test_heads_agree_with_the_published_tables() -> None:
    for figure, head in (("socket head", "socket"),):
        for thread, value in published(figure):
            assert find_parts(Bolt, head, thread)[0].across == value


def test_thread_lengths_follow_iso_888() -> None:
    # ISO 888:2012 as coded in the data set's fastener.py: M8 x 60: 22, x 150: 28, x 240: 41.
    m8 = find_parts(Bolt, "hexagon", "M8")[0]
    assert [thread_length(m8, length) for length in (60, 125, 126, 150, 200, 240)] == [22, 22, 28, 28, 28, 41]
    # A DIN 7991 table confirms 2 d + 6 once more: M5 16, M6 18, M8 22, M10 26.
    for thread, b in (("M5", 16), ("M6", 18), ("M8", 22), ("M10", 26)):
        assert thread_length(find_parts(Bolt, "hexagon", thread)[0], 60) == b
    # Cap screws have 2 d + 12 at every length: M5 22, M6 24, M8 28, M10 32.
    for thread, b in (("M5", 22), ("M6", 24), ("M8", 28), ("M10", 32)):
        assert thread_length(find_parts(Bolt, "socket", thread)[0], 60) == b
    assert thread_length(find_parts(Bolt, "hexagon", "M8")[1], 60) == 60
    # ASME B18.2.1 (from memory): 2 D + 1/4 in, 7/8 in for a 5/16 in bolt.
    assert thread_length(find_parts(Bolt, "hexagon", "5/16 in")[0], 3 * 25.4) == pytest.approx(0.875 * 25.4)


@pytest.mark.parametrize(
    "name", ["threads", "bolts", "bolt_lengths", "washers", "nuts", "wood_screws", "woods", "bits", "errors"]
)
def test_every_table_names_its_standard_and_what_confirms_it(name: str) -> None:
    head = "\n".join(line for line in (FOLDER / f"{name}.csv").read_text("utf-8").splitlines() if line.startswith("#"))
    assert "standard:" in head
    assert "confirmed:" in head
