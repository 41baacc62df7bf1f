"""A description from a text, with what it is based on as texts by name."""

from collections.abc import Callable

from templater.description.keys import Description
from templater.description.load import Base, Source, load
from templater.findings import Location


def load_description(
    text: str, file: str, *, resolve: Callable[[str, Location], tuple[str, str]] | None = None
) -> Description:
    """Return the description in a text that findings call ``file``; ``resolve`` gives a base's file and text."""

    def find(name: str, where: Location) -> Base:
        assert resolve is not None
        base, other = resolve(name, where)
        return Base(name, base, other.encode())

    return load(Source(text.encode("utf-8", "surrogatepass"), file, find if resolve else None))[0]
