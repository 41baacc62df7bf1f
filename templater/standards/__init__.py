"""Tables from standards, each with its source and edition beside it."""
