"""Pictures held against SVG 1.1 by a library of rules."""

from xml.etree import ElementTree

from svgwrite.validator2 import get_validator


def hold_against_svg_1_1(data: bytes) -> None:
    """Raise an error if an element or attribute of a picture is none of SVG 1.1, or stands where none may."""
    rules = get_validator("full")
    for element in ElementTree.fromstring(data).iter():
        name = element.tag.rpartition("}")[2]
        rules.check_all_svg_attribute_values(name, {key.rpartition("}")[2]: value for key, value in element.items()})
        for child in element:
            rules.check_valid_children(name, child.tag.rpartition("}")[2])
