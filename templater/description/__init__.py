"""From YAML text to a frozen, validated description that remembers its lines."""

from templater.description.load import Resolver, load_description
from templater.description.schema import schema_json
from templater.description.starter import starter_text

__all__ = ["Resolver", "load_description", "schema_json", "starter_text"]
