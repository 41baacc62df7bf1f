"""Everything that is checked about a solved boat: the rule, the floor, the plates, the plank, the wood between holes.

Errors are what cannot be built or breaks the rule. A guide value that is clearly missed is a warning, one that is only
just missed is advice; class rules and the builder's own experience outrank every guide value.
"""

from __future__ import annotations

from templater.boat.solved import Boat
from templater.checks.guides import guide_findings
from templater.checks.holes import hole_findings
from templater.checks.plank import plank_findings
from templater.checks.plates import plate_findings
from templater.checks.rule import rule_findings
from templater.checks.slips import letter_findings, slip_findings
from templater.findings import Finding, Severity

_ORDER = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.ADVICE: 2}


def check(boat: Boat) -> tuple[Finding, ...]:
    """Return all findings about a boat, errors first, then by their place in the text.

    The time grows in proportion to the number of holes.
    """
    found = (
        *rule_findings(boat),
        *hole_findings(boat),
        *plate_findings(boat),
        *plank_findings(boat),
        *slip_findings(boat),
        *guide_findings(boat),
        *letter_findings(boat),
    )
    return tuple(sorted(found, key=_rank))


def _rank(finding: Finding) -> tuple[int, str, int, int, str, str, str]:
    """Return what findings are sorted by; those without a place in the text come last."""
    where = finding.where
    place = (where.file, where.line, where.column) if where else ("\U0010ffff", 0, 0)
    return (_ORDER[finding.severity], *place, finding.code, finding.key, finding.text)
