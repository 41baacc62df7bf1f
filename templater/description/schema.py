"""The whole description as a pydantic model, and its JSON Schema for editors."""

from __future__ import annotations

import json
from enum import Enum
from typing import Annotated, Any

from pydantic import Field, GetJsonSchemaHandler, ValidationInfo, model_validator
from pydantic_core import CoreSchema

from templater.description import model
from templater.description.parts import (
    Degrees,
    Fitting,
    Fixing,
    Floor,
    Name,
    NotNegative,
    Part,
    Plank,
    Positive,
    Rule,
    SteeringPost,
    TitleText,
)  # fmt: skip
from templater.reader.compose import Leaf
from templater.reader.values import Choice, Count, Date, Known, Length, Number, Text, YesNo, members
from templater.units import FRACTIONS

UNITS = ("mm", "in")
FIGURES = ("mm", "in", "both")
_PAPERS = ("A4", "A3", "A2", "A1", "A0", "Letter", "Legal", "Tabloid", "roll 24 in", "roll 36 in")


class Paper(Part):
    """A paper of your own: width and height, or the width of a roll. A paper's name stands in place of the keys."""

    name: Name | None = Field(None, exclude=True)
    width: Positive | None = Field(None, description="width of a sheet")
    height: Positive | None = Field(None, description="height of a sheet")
    roll: Positive | None = Field(None, description="width of a roll")

    @model_validator(mode="before")
    @classmethod
    def _named(cls, data: Any, _info: ValidationInfo[Known]) -> Any:
        """Take a single text as the paper's name."""
        return {"name": data} if isinstance(data, Leaf) else data

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        keys = handler.resolve_ref_schema(handler(schema))
        keys["properties"].pop("name")
        named = {"type": "string", "minLength": 1, "maxLength": 40, "examples": list(_PAPERS)}
        return {"anyOf": [named, keys]}

    def built(self) -> str | model.CustomPaper:
        """Return the paper's name, or its size."""
        if self.name is not None:
            return self.name
        return model.CustomPaper(self.roll or self.width or 0.0, self.height)


class Print(Part):
    """How the sheets are put on paper."""

    makes = model.Print
    paper: Paper | None = Field(None, description="name of a paper, or {width, height}, or {roll: width}")
    margin: NotNegative | None = Field(None, description="rim that the printer leaves blank")
    overlap: NotNegative | None = Field(None, description="by how much neighbouring tiles lie on one another")
    orientation: Annotated[model.Orientation, members(model.Orientation)] | None = Field(
        None, description="which way up the paper stands; either takes the better one"
    )
    floor_face: Annotated[model.FloorFace, members(model.FloorFace)] | None = Field(
        None, description="face of the floor on which its sheet is taped"
    )
    printer: Name | None = Field(None, description="name of a stored printer profile")
    figures: Annotated[str, Choice(FIGURES)] | None = Field(
        None, description="how lengths are written; mm in mm boats and both in inch boats if left out"
    )
    fraction: Annotated[str, Choice(tuple(FRACTIONS))] | None = Field(
        None, description="what inches are rounded to; 1/32 if left out"
    )


class Accuracy(Part):
    """How well you work: one standard deviation each."""

    makes = model.Accuracy
    tape: NotNegative | None = Field(None, description="reading the tape")
    seam: NotNegative | None = Field(None, description="joining two tiles, shift")
    seam_angle: Degrees | None = Field(None, description="joining two tiles, turn in degrees")
    punch: NotNegative | None = Field(None, description="punching a mark")
    drill: NotNegative | None = Field(None, description="drilling on the mark")
    drill_lean: Degrees | None = Field(None, description="drill out of square, in degrees")
    printer_scale: Annotated[float, Number(least=0, most=0.1)] | None = Field(
        None, description="the printer's scale, mm for each mm, no unit"
    )
    lay: NotNegative | None = Field(None, description="laying the sheet on the pencilled lines")
    humidity: Annotated[float, Number(least=0, most=100)] | None = Field(
        None, description="change of relative humidity between printing and drilling, per cent"
    )


class Issue(Part):
    """Title data for the sheets."""

    makes = model.Issue
    date: Annotated[str, Date()] | None = Field(None, description="date of issue, as in 2026-11-25")
    revision: TitleText | None = Field(None, description="revision, as in A or 2")
    owner: TitleText | None = Field(None, description="legal owner of the drawing")
    number: TitleText | None = Field(None, description="identification number")
    drawn_by: TitleText | None = Field(None, description="who drew it")
    approved_by: TitleText | None = Field(None, description="who approved it")


class Spares(Part):
    """What goes into the spares bag."""

    makes = model.Spares
    plates: Annotated[int, Count(0, 1000)] | None = Field(None, description="spare plates")
    bolts: Annotated[int, Count(0, 1000)] | None = Field(None, description="spare bolts with nut and washers")
    screws: Annotated[int, Count(0, 1000)] | None = Field(None, description="spare wood screws")


class Cutting(Part):
    """How a shop cuts the plates from sheet metal."""

    makes = model.Cutting
    sheet: tuple[Positive, Positive] | None = Field(None, description="the metal sheet: [length, width]")
    spacing: Annotated[float, Length(least=1, most=100)] | None = Field(
        None, description="clear metal between parts and round them"
    )
    sets: Annotated[int, Count(1, 20)] | None = Field(
        None, description="sets of plates: the first for the boat, further ones loose for the spares bag"
    )
    kerf: Annotated[float, Length(least=0, most=3)] | None = Field(
        None, description="width of the cut that outlines make up for; leave out if the shop sees to that"
    )
    guide: Annotated[bool, YesNo()] | None = Field(None, description="false leaves out the guide plate for the drill")


class Description(Part):
    """A small wooden ice boat, as far as its runner plank goes. Lengths: numbers in `units`, or texts with a unit."""

    makes = model.Description
    boat: Name = Field(description="the boat's name, 1 to 40 characters")
    units: Annotated[str, Choice(UNITS)] = Field(description="unit of bare numbers")
    based_on: Annotated[str, Text(200)] | None = Field(
        None, description="description beside this one, of which only the differences stand here; null drops a key"
    )
    issue: Issue | None = Field(None, description="title data for the sheets")
    rule: Rule | None = Field(None, description="class rule; leave out where none applies")
    steering_post: SteeringPost = Field(description="post round which the tape's ring lies")
    floor: Floor = Field(description="cockpit floor")
    plank: Plank = Field(description="runner plank")
    fixing: Fixing = Field(description="how the plank is bolted to the hull")
    fittings: Annotated[tuple[Fitting, ...], Field(max_length=1000)] | None = Field(
        None, description="any other drilling on the floor or the plank"
    )
    print: Print | None = Field(None, description="paper")
    accuracy: Accuracy | None = Field(None, description="how well you work, one standard deviation each")
    spares: Spares | None = Field(None, description="what goes into the spares bag")
    cutting: Cutting | None = Field(None, description="how a shop cuts the plates from sheet metal")


def schema_json() -> str:
    """Return the JSON Schema (2020-12) of the description, from which editors complete and explain keys.

    Keys that a description must have are asked for only where it is not based on another.
    """
    whole = Description.model_json_schema()
    definitions = {name: _tidy(part) for name, part in whole.pop("$defs").items()}
    root = _tidy(whole)
    needed = _needed(root, definitions)
    lists = ("Fitting", "KeepClear", "Row", "CirclePattern")  # lists are replaced whole, never completed from a base
    loose = {n: part if n in lists else _without_required(part) for n, part in definitions.items()}
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Description of a small wooden ice boat",
        **_without_required(root),
        "required": ["boat"],
        "if": {"not": {"required": ["based_on"]}},
        "then": needed,
        "$defs": loose,
    }
    return json.dumps(schema, indent=2, ensure_ascii=False, default=_plain)


def _tidy(schema: Any) -> Any:
    """Return a schema without pydantic's titles, and without the null that only marks a key as optional."""
    if isinstance(schema, list):
        return [_tidy(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    tidy: dict[str, Any] = {}
    for name, value in schema.items():
        if name == "properties":
            tidy[name] = {key: _tidy(item) for key, item in value.items()}
        elif not (name == "title" and isinstance(value, str)) and not (name == "default" and value is None):
            tidy[name] = _tidy(value)
    options = [item for item in tidy.get("anyOf", ()) if item != {"type": "null"}]
    if len(options) == 1:
        del tidy["anyOf"]
        tidy = {**options[0], **tidy}
    elif options:
        tidy["anyOf"] = options
    return tidy


def _needed(schema: dict[str, Any], definitions: dict[str, Any]) -> dict[str, Any]:
    """Return only what must be there: needed keys, and below every mapping its own needed keys."""
    needed: dict[str, Any] = {"required": schema["required"]} if schema.get("required") else {}
    below = {}
    for key, value in schema.get("properties", {}).items():
        part = definitions.get(value.get("$ref", "").rpartition("/")[2], {})
        if inner := _needed(part, definitions):
            below[key] = inner
    return {**needed, "properties": below} if below else needed


def _without_required(schema: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in schema.items() if name != "required"}


def _plain(value: object) -> object:
    return value.value if isinstance(value, Enum) else str(value)
