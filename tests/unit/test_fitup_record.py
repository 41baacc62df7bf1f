"""The record, its comparison with next season's, and the page made of it."""

import json
import re
from html.parser import HTMLParser

import pytest
from fitup_boats import Builder, attempt, both, readings, repeats, station, whinchat

from templater.boat.solved import Side
from templater.findings import ReadingsError
from templater.fitup.readings import Attempt, CentrelineReadings, Readings, ShimReadings, Toe
from templater.fitup.record import read_record, record, record_data
from templater.fitup.rig import Surroundings
from templater.fitup.square import square
from templater.pipeline.fitup import fitup_drawings
from templater.report.blocks import lines
from templater.report.fitup import centreline_blocks, fitup_page, shim_blocks
from templater.report.plan import exaggeration, plan_view
from templater.units import Figures


def turn(yaw: float, number: int, scatter: tuple[float, ...] = (-0.3, 0.0, 0.3)) -> Attempt:
    builder = Builder(yaw)
    tape = both(*([builder.tape(side) + e for e in scatter] for side in Side))
    return attempt(tape, number=number, date=f"2026-12-0{number}", note="<cold> & wet")


def season(yaw: float, middle: float = 0.0) -> Readings:
    rows = tuple(
        station(x, both([200 - middle], [200 + middle], "centreline.stations.0")) for x in (100.0, 900.0, 1700.0)
    )
    toe = Toe(fore=repeats([2200]), aft=repeats([2201]), apart=900.0)
    return readings(
        turn(0.5, 1), turn(yaw, 2), centreline=CentrelineReadings(stations=rows, post_offset=repeats([0.5])),
        shim=ShimReadings(least=2.0, toe=toe), date="2026-12-02",
    )  # fmt: skip


def test_a_record_holds_every_attempt_and_the_last_counts() -> None:
    result = record(season(0.0), whinchat())
    assert [row.attempt.number for row in result.attempts] == [1, 2]
    assert not result.attempts[0].passed
    assert result.attempts[-1].passed
    # The post counts as the centreline has it, with its doubt.
    line = result.centreline
    assert line is not None
    assert line.post_offset is not None
    assert line.post_offset_sd is not None
    alone = square(turn(0.0, 2), whinchat(), season(0.0), Surroundings(line.post_offset, line.post_offset_sd))
    assert (alone.post_offset, alone.difference_95) == (0.5, result.attempts[-1].difference_95)
    assert alone.difference_95 > square(turn(0.0, 2), whinchat(), season(0.0)).difference_95


def test_a_record_has_the_date_of_the_readings_or_else_of_the_last_attempt() -> None:
    assert record(season(0.0).changed(date="2027-01-05"), whinchat()).date == "2027-01-05"
    assert record(season(0.0).changed(date=""), whinchat()).date == "2026-12-02"


def test_next_season_is_compared_with_this_one() -> None:
    kept = json.dumps(record_data(record(season(0.0), whinchat())))
    earlier = read_record(kept, "fit-up.json")
    again = record(season(0.2), whinchat(), earlier)
    assert again.earlier == "2026-12-02"
    yaw = next(row for row in again.changes if row.name == "turn of the plank at setting 3")
    assert yaw.change == pytest.approx(0.2, abs=1e-5)
    assert yaw.beyond_chance is True
    ring = next(row for row in again.changes if "zero" in row.name)
    assert ring.beyond_chance is None
    assert abs(ring.change) < 1e-5
    same = record(season(0.0), whinchat(), earlier)
    assert all(not row.beyond_chance for row in same.changes)


@pytest.mark.parametrize(
    "text",
    [
        "", "[]", "{", "null", '{"kind": "fit-up record"}', '{"kind": "other", "version": 1, "figures": []}',
        '{"kind": "fit-up record", "version": 1, "figures": [1]}',
        '{"kind": "fit-up record", "version": 1, "figures": [{"name": "a", "value": "b"}]}',
        '{"kind": "fit-up record", "version": 1, "figures": [{"name": "a", "value": NaN}]}',
        '{"kind": "fit-up record", "version": 1, "figures": [{"name": "a", "value": 1, "half_width": []}]}',
        '{"kind": "fit-up record", "version": 1, "figures": [{"name": "a", "value": 1' + "0" * 400 + "}]}",
        "[" * 100_000,
    ],
)  # fmt: skip
def test_a_damaged_record_is_refused(text: str) -> None:
    with pytest.raises(ReadingsError, match="T250"):
        read_record(text, "fit-up.json")


def test_readings_of_another_boat_are_refused() -> None:
    other = Readings(boat="Whinchat 5", shim=ShimReadings(least=2.0))
    with pytest.raises(ReadingsError, match="the readings are of Whinchat 5, the description is of Whinchat 3"):
        record(other, whinchat())
    nameless = Readings(boat="", shim=ShimReadings(least=2.0))
    assert record(nameless, whinchat()).findings == ()


def test_a_record_that_decides_nothing_has_no_figures_sheets_or_picture() -> None:
    boat, builder = whinchat(), Builder(0.3)
    port, starboard = builder.tape(Side.PORT), builder.tape(Side.STARBOARD)
    found = record(readings(attempt(both([port, port + 9.0], [starboard]))), boat)
    assert found.figures == ()
    assert fitup_drawings(boat, found) == ()
    text = fitup_page(found, boat).decode()
    assert "not decided: a reading is suspect, read it again" in text
    assert "nothing before the suspect reading is read again" in text
    assert "<svg" not in text
    assert not re.search(r"of square|second hole of the plank", text)


class Page(HTMLParser):
    """Counts elements and keeps every address."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.addresses: list[str] = []
        self.ids: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("href", "src", "xlink:href"):
                self.addresses.append(value or "")
            if name == "id":
                self.ids.append(value or "")


def test_the_page_stands_alone_and_is_the_same_every_time() -> None:
    boat = whinchat()
    earlier = read_record(json.dumps(record_data(record(season(0.0), boat))), "fit-up.json")
    whole = record(season(0.2, middle=1.0), boat, earlier)
    page = fitup_page(whole, boat)
    assert page == fitup_page(whole, boat)
    text = page.decode()
    parsed = Page()
    parsed.feed(text)
    assert parsed.tags.count("svg") == 1
    assert {"main", "h1", "table", "caption", "th", "figcaption"} <= set(parsed.tags)
    assert "script" not in parsed.tags
    assert all(address.startswith("#") for address in parsed.addresses)
    assert {address[1:] for address in parsed.addresses} <= set(parsed.ids)
    assert len(parsed.ids) == len(set(parsed.ids))
    assert "prefers-color-scheme" in text
    assert "&lt;cold&gt; &amp; wet" in text
    assert "turn drawn 20 times as large as it is" in text
    assert "out of tolerance" in text
    assert "Changes since 2026-12-02" in text
    assert not re.search(r"\b(nan|inf|None)\b", re.sub(r"<style>.*</style>", "", text, flags=re.DOTALL))


def test_a_page_of_shims_alone_needs_no_attempts() -> None:
    boat = whinchat()
    text = fitup_page(record(Readings(boat="Whinchat 3", shim=ShimReadings(least=2.0)), boat), boat).decode()
    assert "Is the plank square" not in text
    assert "Thickness along the plank" in text


def test_yaw_is_exaggerated_as_far_as_the_picture_bears() -> None:
    assert exaggeration(0.01) == 100
    assert exaggeration(0.3) == 20
    assert exaggeration(-7.0) == 1


def test_the_picture_says_leave_where_nothing_is_to_be_moved() -> None:
    boat = whinchat()
    picture = plan_view(boat, record(readings(turn(0.0, 1)), boat).attempts[-1])
    words = [mark.text for mark in picture.marks if type(mark).__name__ == "Text"]
    assert words.count("leave as it is") == 2
    assert "port" in words
    assert "port: move" not in words


def test_the_plan_view_shows_the_starboard_end_aft_when_it_is() -> None:
    boat = whinchat()
    picture = plan_view(boat, record(readings(turn(0.3, 1)), boat).attempts[-1])
    crosses = [mark for mark in picture.marks if type(mark).__name__ == "Cross" and mark.diagonal]
    port, starboard = sorted(mark.centre for mark in crosses)
    assert starboard[1] < port[1]  # v is forward: the starboard corner lies further aft
    assert "aft" not in picture.description or "dashed where it is square" in picture.description


def test_lines_of_centreline_and_shims_name_their_figures() -> None:
    whole = record(season(0.0, middle=1.0), whinchat())
    assert whole.centreline is not None
    assert whole.shim is not None
    figures = Figures()
    blocks = centreline_blocks(whole.centreline, figures)
    told = "\n".join(line for one in blocks for line in lines(one, figures))
    assert "Mark at station 100 mm: 1.0 mm to starboard of the trial line, 200.0 mm from the port edge" in told
    assert "Steering post: 0.5 ± 6.4 mm to port of the centreline" in told
    shims = [line for one in shim_blocks(whole.shim) for line in lines(one, figures)]
    assert any("at the bolt" in line for line in shims)
    # Over the seat first, which is as long as the plank is wide, then the tilt itself: 175 tan 1 degree.
    assert any(re.match(r" *one degree of tilt +3\.05 +1\.00 ", line) for line in shims)
    assert attempt(both([1], [1])).number == 1
