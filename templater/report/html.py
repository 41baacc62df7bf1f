"""The job sheet as one self-contained HTML page: no network, inline pictures, readable on a phone and on paper."""

from collections.abc import Iterator
from pathlib import Path
from string import Template

from templater.report.blocks import NOTHING, Block, Bullets, JobSheet, Picture, Steps, Table, shown
from templater.units import Figures, held
from templater.writers.svg import write_inline_svg

_FOLDER = Path(__file__).parent
#: What may not stand in markup as it is; the library's own way brings a long table with it.
_ESCAPED = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#x27;"})


class Markup(str):
    """Text that is markup already; all other text is escaped."""

    __slots__ = ()


def escape(text: str) -> str:
    """Return a text as it stands in markup."""
    return text.translate(_ESCAPED)


def tag(name: str, /, *inside: str, **attributes: str | None) -> Markup:
    """Return an element; ``data_head`` is the attribute ``data-head``, ``class_`` is ``class``, None is left out."""
    words = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    if name == "input":  # has no end
        return Markup(f"<{name}{words}>")
    text = "".join(one if isinstance(one, Markup) else escape(held(one)) for one in inside)
    return Markup(f"<{name}{words}>{text}</{name}>\n")


def job_sheet_html(sheet: JobSheet) -> bytes:
    """Return the page as UTF-8 bytes. Every text is escaped; the same sheet gives the same bytes."""
    page, style, ticks = ((_FOLDER / name).read_text("utf-8") for name in ("page.html", "style.css", "ticks.js"))
    facts = (tag("div", tag("dt", term), tag("dd", text)) for term, text in sheet.facts)
    links = (tag("li", tag("a", section.heading, href=f"#{section.id}")) for section in sheet.sections)
    sections = (
        tag(
            "section",
            tag("h2", section.heading, id=f"{section.id}-heading"),
            *(
                part
                for n, one in enumerate(section.blocks, 1)
                for part in _block(one, f"{section.id}-{n}", sheet.figures)
            ),
            id=section.id,
            class_="last-of-card" if number == sheet.card else None,
            aria_labelledby=f"{section.id}-heading",
        )
        for number, section in enumerate(sheet.sections, 1)
    )
    key = " ".join(["ticks", sheet.title, *map(" ".join, sheet.facts)])
    made = Template(page).substitute(
        title=escape(held(sheet.title)),
        subtitle=escape(held(sheet.subtitle)),
        program=escape(sheet.program),
        style=style.rstrip(),
        facts="".join(facts),
        links="".join(links),
        sections="".join(sections),
        # Only a card's ticks are kept.
        key=f' data-key="{escape(key)}"' if sheet.card else "",
        script=tag("script", Markup(ticks.rstrip())) if sheet.card else "",
    )
    return made.encode()


def _block(block: Block, key: str, figures: Figures) -> Iterator[Markup]:
    """Yield a block's elements; ``key`` is its id in the page."""
    if isinstance(block, str):
        yield tag("p", block)
    elif isinstance(block, Bullets):
        items = (
            tag("li", text, *([Markup(" "), tag("small", remark)] if remark else [])) for text, remark in block.items
        )
        yield tag("ul", *items, class_="bullets")
    elif isinstance(block, Steps):
        yield tag("ol", *(_step(text, caution) for text, caution in block.items), class_="steps")
    elif isinstance(block, Table):
        yield _scrolled(_table(block, key, figures), key)
        if block.note:
            yield tag("p", block.note, class_="note")
    else:
        yield _picture(block, key)


def _step(text: str, caution: str) -> Markup:
    label = tag("label", tag("input", type="checkbox"), Markup(" "), tag("span", text))
    warned = [tag("p", tag("strong", "Caution:"), Markup(" "), caution, class_="caution")] if caution else []
    return tag("li", label, *warned)


def _scrolled(inside: Markup, key: str) -> Markup:
    """Return what may be wider than the screen, named by its caption."""
    return tag("div", inside, class_="scroll", role="group", aria_labelledby=f"{key}-caption", tabindex="0")


def _table(block: Table, key: str, figures: Figures) -> Markup:
    text = shown(block, figures)
    heads = [*text.heads, *([text.tick] if text.tick else [])]
    rows = []
    for row in text.rows:
        names = text.heads if block.cards else (None,) * len(row)
        cells = [tag("th", row[0], scope="row", class_="short" if len(row[0]) < 20 else None, data_head=names[0])]
        cells += [
            tag("td", cell, class_=_shape(cell), data_head=head) for cell, head in zip(row[1:], names[1:], strict=True)
        ]
        if text.tick:
            box = tag("input", type="checkbox", aria_label=f"{text.tick}: {row[0]}, {row[1]}")
            cells.append(tag("td", box, class_="tick"))
        rows.append(tag("tr", *cells))
    return tag(
        "table",
        tag("caption", text.caption, id=f"{key}-caption"),
        tag("thead", tag("tr", *(tag("th", head, scope="col") for head in heads))),
        tag("tbody", *rows),
        class_=f"{block.key}{' whole' if len(rows) <= 16 else ''}{' cards' if block.cards else ''}",
    )


def _shape(cell: str) -> str | None:
    """Return how a cell is set: how wide at least, and whether it says nothing."""
    return "long" if len(cell) > 60 else "medium" if len(cell) > 30 else "none" if cell == NOTHING else None


def _picture(block: Picture, key: str) -> Markup:
    """Return a picture as inline SVG in the colour of the text."""
    svg = write_inline_svg(
        block.marks, block.box, key=key, title=block.title, description=block.description, true_size=block.true_size
    )
    size = ", 1:1 when printed at actual size" if block.true_size else ", not to scale"
    return tag(
        "figure",
        _scrolled(Markup(svg), key),
        tag("figcaption", f"{block.title}{size}", id=f"{key}-caption"),
        style=None if block.true_size else f"--wide: {block.box[2] - block.box[0]:.0f}mm",
    )
