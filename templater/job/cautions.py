"""The cautions of the job, each with its source. They defer to class rules, local codes and licensed practice."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: a short ``id`` for the steps to point at, its text, and where it comes from."""

    id: str
    text: str
    source: str


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "edges",
        "Laser-cut and sawn metal is sharp: break every edge and corner of plates and sleeves with a file, and handle "
        "them in gloves until that is done.",
        "common practice, no source",
    ),
    Caution(
        "clamp",
        "Clamp plate, plank and scrap before drilling; at a pillar drill tie hair back and wear no gloves, jewellery "
        "or loose clothing. Metal that snatches spins with the bit.",
        "summary of US OSHA drill-press requirements; guarding: US 29 CFR 1910.212(a)(1)",
    ),
    Caution(
        "eyes",
        "Wear eye protection when drilling, filing, cutting and mixing epoxy.",
        "EN 166, EN ISO 16321-1; US 29 CFR 1910.133 (from memory)",
    ),
    Caution(
        "behind",
        "Before drilling through, look what lies behind: wires, lines, hands, the bench. Set the depth stop, back the "
        "exit with scrap.",
        "common practice, no source",
    ),
    Caution(
        "dust",
        "Wood dust harms lungs and nose, and hardwood dust can cause cancer of the nose: draw it off at the tool, do "
        "not sweep it dry. Limits in Great Britain, over 8 h: 3 mg/m3 for hardwood and mixtures, 5 mg/m3 for softwood.",
        "UK Health and Safety Executive, wood dust page",
    ),
    Caution(
        "epoxy",
        "Uncured epoxy and its hardener make the skin allergic, often for life: no skin contact, nitrile or butyl "
        "gloves changed often (ordinary latex does not protect), fresh air, and no sanding before it has cured.",
        "UK Health and Safety Executive, dermatitis table and report RR79 (for life: from memory)",
    ),
    Caution(
        "measurer",
        "The class rules and the measurer decide what is allowed: ask before drilling, and have the runner base "
        "measured afterwards.",
        "the rules of your class",
    ),
    Caution(
        "loads",
        "This program verifies geometry, not loads: it does not prove that floor, plank, bolts or screws are strong "
        "enough. Its holding and spacing figures are guides.",
        "the limits of this program",
    ),
    Caution(
        "practice",
        "Where local rules ask for a licensed or qualified person for design, welding or work on the hull, have one do "
        "it; local codes go before anything printed here.",
        "local codes",
    ),
    Caution(
        "ice",
        "An ice boat is fast and the ice is hard: try the new fixing at low speed first, check every bolt and nut "
        "before each run and after the first, and wear helmet and ice claws.",
        "common practice, no source",
    ),
)


def find_caution(name: str) -> Caution:
    """Return a caution by its id.

    Raises:
        KeyError: if there is none; the message lists the ids.
    """
    for caution in CAUTIONS:
        if caution.id == name:
            return caution
    raise KeyError(f"{name}: not a caution; known are {', '.join(caution.id for caution in CAUTIONS)}")
