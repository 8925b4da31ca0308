"""A refused text, given back."""
