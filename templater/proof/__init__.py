"""From bytes back to marks with readers of its own, compared with the drawing. Never imports writers."""

from templater.proof.diagnose import Diagnosis, FoundPage, diagnose
from templater.proof.prove import prove
from templater.proof.report import (
    LIMIT,
    Deviation,
    ProofReport,
    SheetProof,
    deviation_text,
    report_dict,
    report_rows,
    verdict,
)

__all__ = [
    "LIMIT",
    "Deviation",
    "Diagnosis",
    "FoundPage",
    "ProofReport",
    "SheetProof",
    "deviation_text",
    "diagnose",
    "prove",
    "report_dict",
    "report_rows",
    "verdict",
]
