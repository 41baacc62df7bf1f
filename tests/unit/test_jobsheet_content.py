"""What the builder needs stands on the job sheet's page, in its PDF and in its data alike."""

import math
import re

import made_boats
import pytest
from job_sheets import BOATS, Job, Page, bare, job, of, pdf_pages, texts

from templater.description.load import Source
from templater.findings import DrawingError
from templater.job.work import cautions, order_of_work
from templater.pipeline.checked import Options, check
from templater.pipeline.sheets import on_paper
from templater.report.blocks import Bullets, Picture, Steps, Table, shown

FORMS = ("html", "pdf", "data")


def rows(one: Job, section: str, caption: str) -> list[tuple[str, ...]]:
    """The rows of a table as text; ``section`` is where it has to stand."""
    blocks = next(part.blocks for part in one.sheet.sections if part.id == section)
    table = next(block for block in blocks if isinstance(block, Table) and block.caption == caption)
    return list(shown(table, one.sheet.figures).rows)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", BOATS)
def test_every_part_of_the_job_is_there(name: str, form: str) -> None:
    text = texts(job(name))[form]
    for heading in (
        "Settings and tape figures", "Lay out first", "Order of work", "Warnings and findings", "Tape figures in full",
        "What to expect at each setting", "Printing", "Files to print", "Where the cautions come from",
        "Putting the pages together", "Plan of floor and plank", "Check distances", "Drilling",
        "Bolt, sleeve and screws", "Section through a bolt", "Hardware list", "Spares bag",
    ):  # fmt: skip
        assert bare(heading) in text, heading


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", BOATS)
def test_every_finding_caution_and_step_is_told_in_full(name: str, form: str) -> None:
    one = job(name)
    text = texts(one)[form]
    told = [finding.text for finding in one.checked.findings] + [finding.code for finding in one.checked.findings]
    told += [caution.text for caution in cautions().values()] + [step.text for step in order_of_work(one.boat)]
    assert len(told) > 30
    assert [words for words in told if bare(words) not in text] == []


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", BOATS)
def test_every_hole_can_be_found(name: str, form: str) -> None:
    text = texts(job(name))[form]
    runs = set()
    for hole in job(name).boat.holes:  # P1a3 stands in the run P1a1..4, KP alone
        stem, number = re.fullmatch(r"(.*?)(\d*)", hole.id).groups()
        runs.add((stem, number))
    for stem, number in runs:
        found = re.search(rf"{stem}{number}(?!\d)", text) or any(
            int(a) <= int(number) <= int(b) for a, b in re.findall(rf"{stem}(\d+)\.\.(\d+)", text)
        )
        assert found, f"{stem}{number}"


def test_the_plan_names_bolt_holes_and_each_screw_of_a_plate() -> None:
    plan = next(section for section in job("whinchat-3").sheet.sections if section.id == "plan")
    floor, plank, plates = (
        {mark.text for mark in block.marks if hasattr(mark, "text")}
        for block in plan.blocks
        if isinstance(block, Picture)
    )
    assert {"P1", "P2", "P3", "S1", "S2", "S3", "port", "starboard", "forward", "A1..4 block base"} <= floor
    assert {"KP", "KS: marked at fit-up", "215.0 mm", "980.0 mm"} <= plank
    assert {f"{side}1{lot}{n}" for side in "PS" for lot in "ab" for n in (1, 2, 3, 4)} <= plates


def test_settings_and_tape_are_those_of_the_rule_and_of_pythagoras() -> None:
    one = job("whinchat-3")
    # By hand: greatest runner base 2350 less the builder's 4, less 6 that the pivot axis lies aft of the bolts.
    stations = [2340.0 - 2 * 55, 2340.0 - 55, 2340.0]
    settings = rows(one, "settings", "Settings, 1 foremost")
    assert [row[1] for row in settings] == [f"{station:.1f}" for station in stations]
    assert [row[0] for row in settings] == ["1", "2", "3 (limit)"]
    # Corner: 6 aft of the bolts, half of 2290 off the centreline, 60 below the floor; the post is 32 across.
    slants = [math.sqrt((station + 6) ** 2 + 1145**2 + 60**2) for station in stations]
    tape = rows(one, "tape", "Tape figures, steering post to chock corner")
    assert [row[2] for row in tape] == [f"{slant:.1f}" for slant in slants]
    assert [row[1] for row in tape] == [f"{slant - 16:.1f}" for slant in slants]


def test_a_unit_stands_in_the_heading_alone() -> None:
    def settings(one: Job) -> Table:
        return next(block for block in one.sheet.sections[0].blocks if isinstance(block, Table))

    assert shown(settings(job("whinchat-3")), job("whinchat-3").sheet.figures).heads[1].endswith("pivot axis, mm")
    inches = shown(settings(job("whinchat-5")), job("whinchat-5").sheet.figures)
    assert inches.heads[1].endswith("pivot axis, mm (in)")
    # By hand: 92.5 in less 5 mm less 0.25 in is 2338.15 mm, either way to a tenth; 92.053 in, nearest 92 2/32.
    assert inches.rows[-1][1] in ("2338.1 (92 1/16)", "2338.2 (92 1/16)")


def test_check_distances_have_room_for_what_is_measured() -> None:
    distances = rows(job("whinchat-3"), "distances", "Check distances between holes, straight from middle to middle")
    found = {row[0]: row[1] for row in distances}
    assert found["P1 to S1"] == "430.0"
    assert found["P1 to S2"] == f"{math.hypot(430, 55):.1f}"
    assert found["P1 to S3"] == f"{math.hypot(430, 110):.1f}"
    assert all(row[3:] == ("", "") for row in distances)


def test_a_check_distance_may_be_off_by_twice_its_typical_error() -> None:
    # Two standard deviations hold 95 of 100 (JCGM 100:2008, 6.3.3); rounded up to a tenth, for a rule shows no more.
    one, (checked, _, report) = job("whinchat-3"), on_paper(made_boats.tiled("whinchat-3")[0], Options())
    assert report is not None
    sigmas = {f"{row.a} to {row.b}": pair.sigma for row, pair in zip(checked.boat.distances, report.pairs, strict=True)}
    for name, _, allowed, *_ in rows(one, "distances", "Check distances between holes, straight from middle to middle"):
        assert 0 <= float(allowed) - 2 * sigmas[name] < 0.1


@pytest.mark.parametrize("name", BOATS)
def test_every_sheet_is_listed_and_its_tiles_mapped(name: str) -> None:
    one = job(name)
    listed = {row[0]: row[2] for row in rows(one, "print", "Files to print")}
    assert listed == {f"{sheet.drawing.name}.pdf": str(len(sheet.tiles)) for sheet in one.sheets}
    maps = [
        block
        for section in one.sheet.sections
        if section.id == "pages"
        for block in section.blocks
        if isinstance(block, Picture)
    ]
    tiled = [sheet for sheet in one.sheets if len(sheet.tiles) > 1]
    assert len(maps) == len(tiled) > 0
    for picture, sheet in zip(maps, tiled, strict=True):
        words = {mark.text for mark in picture.marks if hasattr(mark, "text")}
        assert {tile.name for tile in sheet.tiles} | {f"page {tile.page}" for tile in sheet.tiles} == words


@pytest.mark.parametrize("name", BOATS)
def test_every_step_and_every_thing_to_pack_has_a_box_to_tick(name: str) -> None:
    one = job(name)
    boxes = [attrs for tag, attrs in Page(one.html).elements if tag == "input"]
    blocks = [block for section in one.sheet.sections for block in section.blocks]
    steps = sum(len(block.items) for block in blocks if isinstance(block, Steps))
    things = sum(len(block.rows) for block in blocks if isinstance(block, Table) and block.tick)
    assert steps >= 20
    assert things >= 10
    assert len(boxes) == steps + things
    assert all(box["type"] == "checkbox" for box in boxes)


@pytest.mark.parametrize("form", FORMS)
def test_a_floor_of_9_instead_of_14_changes_screws_bolt_and_depth_stop_everywhere(form: str) -> None:
    thick = texts(job("whinchat-3"))[form]
    thin = texts(job("whinchat-3", ("thickness: 14", "thickness: 9")))[form]
    # By hand: plate 3 + floor + plank 34 + washer 2.2 at most + nut 9.5 + two pitches 2.5 = 65.2 or 60.2; the next
    # length of ISO 888 is 70 or 65. The screw of 16 less 3 is 13 long: inside a floor of 14, 4 beyond one of 9.
    broken = bare("screws 5 x 16 break through the floor")
    assert broken in thin
    assert broken not in thick
    assert bare("the point stands 4 mm out of the floor of 9 mm") in thin
    assert bare("comes out 4 mm") in thin
    assert bare("M8 x 65 mm") in thin
    assert bare("M8 x 65 mm") not in thick
    assert bare("M8 x 70 mm") in thick
    assert bare("M8 x 70 mm") not in thin


def test_the_depth_stops_follow_the_floor() -> None:
    def stops(one: Job) -> dict[str, str]:
        return {row[0]: row[-3].split(" from")[0] for row in rows(one, "drilling", "Bits and depths")}

    # The sleeve's bit goes to the far face; a pilot leaves 2 mm of wood (common practice, no source)
    # and goes through the plate of 3 mm.
    thick, thin = stops(job("whinchat-3")), stops(job("whinchat-3", ("thickness: 14", "thickness: 9")))
    assert (thick["sleeves in the floor"], thin["sleeves in the floor"]) == ("14 mm", "9 mm")
    assert (thick["plate screws, first set"], thin["plate screws, first set"]) == ("15 mm", "10 mm")


@pytest.mark.parametrize("name", BOATS)
def test_the_data_holds_every_text_of_the_page(name: str) -> None:
    one = job(name)
    words = [word for part in one.sheet.sections for block in part.blocks for word in block_texts(block, one)]
    told = texts(one)
    assert len(words) > 300
    for form in ("html", "pdf"):
        assert [word for word in words if bare(word) not in told[form]] == []


def block_texts(block: object, one: Job) -> list[str]:
    if isinstance(block, Table):
        table = shown(block, one.sheet.figures)
        return [table.caption, table.note, *table.heads, *(cell for row in table.rows for cell in row)]
    if isinstance(block, Bullets | Steps):
        return [text for item in block.items for text in item]
    return []


@pytest.mark.parametrize("name", BOATS)
def test_cautions_stand_at_the_steps_they_belong_to(name: str) -> None:
    order = next(section for section in job(name).sheet.sections if section.id == "order").blocks[0]
    assert isinstance(order, Steps)

    def caution_at(words: str) -> str:
        return next(caution for text, caution in order.items if words in text)

    assert "allergic" in caution_at("Glue the sleeves in")
    assert "sharp" in caution_at("ends square and deburred")
    assert "harms lungs" in caution_at("right through at P1")
    assert "measurer decide" in order.items[0][1]
    assert "not loads" in order.items[0][1]
    assert "licensed" in order.items[0][1]
    assert "low speed" in order.items[-1][1]


def test_a_hostile_name_is_only_text() -> None:
    hostile = "<script>alert(1)</script><b onload=x>&\"'"
    one = job("whinchat-3", ("boat: Whinchat 3", "boat: '" + hostile.replace("'", "''") + "'"))
    page = Page(one.html)
    tags = {tag for tag, _ in page.elements}
    assert one.html.count(b"<script>") == 1  # ours, which keeps the ticks
    assert b"alert(1)</script>" not in one.html
    assert "b" not in tags
    assert not any(key.startswith("on") for _, attrs in page.elements for key in attrs)
    assert hostile in page.text
    assert hostile in pdf_pages(one.pdf)[0]


def test_a_letter_that_cannot_be_printed_is_refused() -> None:
    with pytest.raises(DrawingError, match="S301"):
        job("whinchat-3", ("boat: Whinchat 3", "boat: Whinchat 三"))


@pytest.mark.parametrize("name", BOATS)
def test_the_page_needs_nothing_from_elsewhere(name: str) -> None:
    one = job(name)
    page = Page(one.html)
    ids = [attrs["id"] for _, attrs in page.elements if "id" in attrs]
    assert len(ids) == len(set(ids))
    for tag, attrs in page.elements:
        assert tag not in ("link", "iframe", "object", "img")
        for key in ("aria-labelledby", "href"):
            for target in (attrs.get(key) or "").split():
                assert target.removeprefix("#") in ids
        assert "src" not in attrs
    assert b"url(" not in one.html
    assert b"@import" not in one.html


@pytest.mark.parametrize("name", BOATS)
def test_same_boat_same_bytes(name: str) -> None:
    first = job(name)
    job.cache_clear()
    second = job(name)
    assert first is not second
    assert (first.html, first.pdf, first.data) == (second.html, second.pdf, second.data)


def test_a_boat_without_sleeve_plate_and_corners_has_a_job_sheet_too() -> None:
    text = (
        "boat: Bare\nunits: mm\nsteering_post: {diameter: 30}\nfloor: {thickness: 12}\n"
        "plank: {length: 2000, width: 150, thickness: 30, crown: 0, pivot_aft_of_bolts: 0}\n"
        "fixing: {half_spread: 200, settings: {stations: [1900]}, bolt: {thread: M8}}\n"
    )
    checked = check(Source(text.encode(), "bare.yaml"))
    assert checked.errors == ()
    one = of(checked)
    assert [section.id for section in one.sheet.sections][:4] == ["settings", "tools", "order", "distances"]
    words = texts(one)["pdf"]
    assert bare("floor 12 mm") in words
    assert bare("sleeve 18") not in words


def test_screws_are_pricked_only_on_the_face_where_the_plates_lie() -> None:
    # Whinchat 5's floor sheet is taped to the under face; the plates lie on the upper one.
    (above,) = (step.text for step in order_of_work(job("whinchat-3").boat) if step.text.startswith("Prick"))
    (below,) = (step.text for step in order_of_work(job("whinchat-5").boat) if step.text.startswith("Prick"))
    assert above.startswith("Prick every hole centre and the plates' corners ")
    assert below.startswith("Prick the centres of bolt holes and fittings, not of the plates' screws, ")
