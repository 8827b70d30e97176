"""The grower's own records: an append-only history, and the garden that follows from it.

``entries``, ``fold``, ``parts`` and ``written`` are plain functions on plain values; ``database`` and what
builds on it hold them in SQLite or PostgreSQL. Their libraries are loaded when a store is opened, not before.
"""
