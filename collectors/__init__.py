"""Asks switches what they see and hands over one thing: a `Snapshot`. Knows nothing of patch maps."""
