"""The job as one PDF file: sheets, job sheet and, attached inside, the texts that it was made from.

Attachments follow ISO 32000-2:2020, 7.11.4 (embedded files) and 14.13 (associated files, AFRelationship).
"""

from templater.handover.build import Attached, Part, assemble
from templater.handover.read import HandoverError, Unpacked, is_pdf, unpack

__all__ = ["Attached", "HandoverError", "Part", "Unpacked", "assemble", "is_pdf", "unpack"]
