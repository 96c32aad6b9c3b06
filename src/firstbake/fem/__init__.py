"""Sintering by finite elements."""
