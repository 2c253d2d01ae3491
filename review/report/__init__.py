"""What a person sees: tidy tables and JSON-ready pictures of an attempt."""
