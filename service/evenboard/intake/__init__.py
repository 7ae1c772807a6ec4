"""intake."""
