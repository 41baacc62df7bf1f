"""From YAML text to a frozen, validated description that remembers its lines."""
