"""Frozen records and enums that every stage shares; no files are opened here."""
