"""Compares a documented patch map with snapshots of what the switches saw. Opens no socket."""

__version__ = "0.1.0"
