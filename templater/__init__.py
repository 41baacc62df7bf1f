"""Full-scale paper templates for fixing the runner plank of a small wooden ice boat.

Data flows one way: text, description, solved boat, drawings, tiles, bytes, proof. See ``DEVELOPERS.md``.
"""

__version__ = "0.1.0"
